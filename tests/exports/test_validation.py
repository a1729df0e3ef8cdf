"""A file that its published schema refuses never leaves."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.exports.demo import demo_entries
from tests.exports.logs import EVERYTHING, consign, make_log
from voicelog.errors import ExportInvalid
from voicelog.exports.formats import FORMATS, Format
from voicelog.exports.handing_over import hand_over
from voicelog.exports.validation import check_valid
from voicelog.store.log import Log

GOLDEN = Path(__file__).with_name("golden")
CHECKED = {each.name: each for each in FORMATS if each.schema}
FILES = {"ead3": "demo.ead3.xml", "marcxml": "demo.marc.xml", "mods": "demo.mods.xml"}
# What makes each of them invalid: an element or attribute that the schema has not.
SPOILT = {
    "ead3": ("<unittitle>", "<title>untold</title><unittitle>"),
    "marcxml": ('ind1=" "', 'ind1="##"'),
    "mods": ("<titleInfo>", "<titleinfo/><titleInfo>"),
}


@pytest.mark.parametrize("name", CHECKED)
def test_a_valid_file_passes_and_a_spoilt_one_is_refused_with_its_line(
    tmp_path: Path, name: str
) -> None:
    """The check that every export goes through can say no."""
    path = tmp_path / "file.xml"
    shutil.copyfile(GOLDEN / FILES[name], path)
    check_valid(path, CHECKED[name].schema)
    before, after = SPOILT[name]
    path.write_text(path.read_text(encoding="utf-8").replace(before, after, 1), encoding="utf-8")
    with pytest.raises(ExportInvalid, match=r"would not be valid by .*\(line \d+: "):
        check_valid(path, CHECKED[name].schema)


def test_what_is_not_valid_is_not_written(tmp_path: Path) -> None:
    """Here a format that is held against the schema of another."""
    odd = Format(name="marcxml", summary="", schema="ead3.xsd")
    folder = make_log(tmp_path / "log", *demo_entries())
    with Log.open(folder) as log, pytest.raises(ExportInvalid, match=r"by ead3\.xsd"):
        hand_over(consign(log, EVERYTHING), odd, tmp_path / "out.xml", made_by="voicelog test")
    assert [path.name for path in tmp_path.iterdir()] == ["log"]
    with Log.open(folder) as log:
        assert list(log.iter_exports()) == []
