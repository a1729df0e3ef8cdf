"""Tables from elsewhere that are made to do harm are refused in a sentence."""

from __future__ import annotations

import tracemalloc
import zipfile
from pathlib import Path

import openpyxl
import pytest

from voicelog.errors import UnusableInput
from voicelog.exports.tables.edited import read_edited

LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha">'
    + "".join(
        f'<!ENTITY {after} "{f"&{before};" * 10}">'
        for before, after in zip("abcdefgh", "bcdefghi", strict=True)
    )
    + "]>"
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY out SYSTEM "file:///etc/hostname">]>'


def workbook(path: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["id", "version", "caption"])
    sheet.append(["e-1", 1, "admit one"])
    book.save(path)
    return path


def with_part(path: Path, name: str, content: bytes) -> Path:
    """Return the workbook with one part replaced."""
    target = path.with_name("hostile.xlsx")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, content if part == name else old.read(part))
    return target


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize("beginning", [LAUGHS, OUTSIDE], ids=["unfolding", "from outside"])
@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/styles.xml", "xl/workbook.xml"])
def test_entities_in_a_workbook(tmp_path: Path, part: str, beginning: str, encoding: str) -> None:
    """Neither unfolded (CWE-776) nor fetched (CWE-611): a workbook has no document type."""
    whole = workbook(tmp_path / "edited.xlsx")
    with zipfile.ZipFile(whole) as archive:
        xml = archive.read(part).decode()
    body = xml.split("?>", 1)[-1]
    hostile = with_part(whole, part, f"{beginning}{body}".encode(encoding))
    with pytest.raises(UnusableInput, match="could fill the memory"):
        read_edited(hostile)


def test_a_workbook_with_a_part_whose_name_is_no_text(tmp_path: Path) -> None:
    """Found by fuzzing: the flag says UTF-8, the name is none."""
    whole = with_part(workbook(tmp_path / "edited.xlsx"), "xl/styles.xml", b"")
    with zipfile.ZipFile(whole, "a") as archive:
        archive.writestr("pärt", b"")
    spoilt = whole.read_bytes().replace("pärt".encode(), b"p\xfa\xfart")
    whole.write_bytes(spoilt)
    with pytest.raises(UnusableInput, match="is no workbook that can be read"):
        read_edited(whole)


def test_a_workbook_that_unpacks_to_far_more_than_it_is(tmp_path: Path) -> None:
    """CWE-409; nothing of it is unpacked."""
    whole = workbook(tmp_path / "edited.xlsx")
    part = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(whole) as archive:
        xml = archive.read(part)
    hostile = with_part(whole, part, xml + b" " * 80_000_000)
    tracemalloc.start()
    try:
        with pytest.raises(UnusableInput, match="could fill the memory"):
            read_edited(hostile)
        assert tracemalloc.get_traced_memory()[1] < 20_000_000
    finally:
        tracemalloc.stop()


def test_an_ordinary_workbook_is_read(tmp_path: Path) -> None:
    (row,) = read_edited(workbook(tmp_path / "edited.xlsx"))
    assert row.cells["caption"] == "admit one"
