"""The demo volumes in every format, byte for byte, so that no change of an export goes unseen.

After an intended change write the files anew and read the difference:

    python -m tests.exports.test_golden
"""

from __future__ import annotations

import hashlib
import io
import sys
import tempfile
import zipfile
from pathlib import Path

import pytest

from tests.exports.demo import CROSSWALK, demo_entries
from tests.exports.logs import make_log, write
from tests.exports.schemas import SCHEMAS, find_problems

GOLDEN = Path(__file__).with_name("golden")
FILES = {
    "csv": "demo.csv",
    "csvw": "demo.csvw.csv",
    "jsonl": "demo.jsonl",
    "ead3": "demo.ead3.xml",
    "ead2002": "demo.ead2002.xml",
    "marcxml": "demo.marc.xml",
    "mods": "demo.mods.xml",
}


@pytest.fixture(scope="module")
def demo_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_log(tmp_path_factory.mktemp("demo") / "log", *demo_entries())


@pytest.mark.parametrize("format_name", FILES)
def test_the_demo_is_written_as_it_was_last_read_by_a_person(
    demo_log: Path, tmp_path: Path, format_name: str
) -> None:
    """What is beside the file as well."""
    write(format_name, demo_log, tmp_path / FILES[format_name], crosswalk=CROSSWALK)
    for path in tmp_path.iterdir():
        expected = (GOLDEN / path.name).read_text(encoding="utf-8")
        assert path.read_text(encoding="utf-8") == expected


def test_a_folder_of_items_is_written_as_it_was_last_read_by_a_person(
    demo_log: Path, tmp_path: Path
) -> None:
    """All files by their checksums, and one to read."""
    folder = write("dc", demo_log, tmp_path / "dc", crosswalk=CROSSWALK)
    assert digests(folder) == (GOLDEN / "demo.dc.sha256").read_text(encoding="utf-8")
    name = "entry-v1-2-verso-1.xml"
    assert (folder / name).read_text() == (GOLDEN / f"demo.dc.{name}").read_text()


def test_a_workbook_holds_the_parts_that_were_last_read_by_a_person(
    demo_log: Path, tmp_path: Path
) -> None:
    """The sheet's own XML; how it is compressed is the library's business."""
    path = write("xlsx", demo_log, tmp_path / "demo.xlsx")
    assert sheet_of(path.read_bytes()) == (GOLDEN / "demo.sheet.xml").read_text(encoding="utf-8")


@pytest.mark.parametrize("format_name", ["ead3", "ead2002", "marcxml", "mods"])
def test_what_was_last_read_by_a_person_is_valid(format_name: str) -> None:
    """By the published schemas."""
    assert format_name in SCHEMAS
    assert find_problems(format_name, GOLDEN / FILES[format_name]) == []


def digests(folder: Path) -> str:
    return "".join(
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n"
        for path in sorted(folder.iterdir())
    )


def sheet_of(workbook: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(workbook)) as archive:
        return archive.read("xl/worksheets/sheet1.xml").decode().replace("<row ", "\n<row ")


def write_anew() -> None:
    """Write all golden files as the exports give them now."""
    GOLDEN.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log = make_log(folder / "log", *demo_entries())
        for format_name, file in FILES.items():
            write(format_name, log, GOLDEN / file, crosswalk=CROSSWALK)
        items = write("dc", log, folder / "dc", crosswalk=CROSSWALK)
        (GOLDEN / "demo.dc.sha256").write_text(digests(items), encoding="utf-8")
        one = "entry-v1-2-verso-1.xml"
        (GOLDEN / f"demo.dc.{one}").write_bytes((items / one).read_bytes())
        book = write("xlsx", log, folder / "demo.xlsx")
        (GOLDEN / "demo.sheet.xml").write_text(sheet_of(book.read_bytes()), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(write_anew())
