"""The crosswalk: complete, adjustable line by line, and a wrong line is named with a remedy."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from tests.exports.demo import CROSSWALK
from voicelog.errors import SettingsError
from voicelog.exports.crosswalk import FIELDS, Level
from voicelog.exports.crosswalk_file import load_crosswalk


def test_every_field_of_an_entry_has_a_line_in_every_format() -> None:
    """A field that a format has no place for says "none", so that nobody need guess."""
    crosswalk = load_crosswalk()
    for format_name, places in crosswalk.places.items():
        assert sorted(places) == sorted(FIELDS), format_name


def test_the_shipped_crosswalk_passes_its_own_checks(tmp_path: Path) -> None:
    """So that any line of it can be copied into a file of one's own."""
    copy = tmp_path / "copy.toml"
    shipped = resources.files("voicelog.exports") / "crosswalk.toml"
    copy.write_text(shipped.read_text(encoding="utf-8"), encoding="utf-8")
    assert load_crosswalk(copy) == load_crosswalk()


def test_a_file_of_ones_own_holds_only_what_differs() -> None:
    """The one of the demo: codes, an accession, the level; the rest is as shipped."""
    own, shipped = load_crosswalk(CROSSWALK), load_crosswalk()
    assert own.levels == {"ead3": Level.ITEM, "ead2002": Level.ITEM}
    assert own.accession("2031-007").method == "Gift"
    assert own.accession("2031-008").method == ""
    assert own.places == shipped.places
    assert own.texts.unconfirmed == shipped.texts.unconfirmed


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            '# mine\n\n[ead3.fields]\ncaption = "odd"\ncondition = "phystek"\n',
            r"line 5: condition can't go to 'phystek'; write one of physfacet, .*, none\.",
        ),
        (
            '[ead3]\nfields.date = "odd"\n',
            r"line 2: date can't go to 'odd'; write one of unitdatestructured, none\.",
        ),
        ('[mods.fields]\nstatus = "none"\n', r"line 2: status can't go to 'none'; write one of"),
        ('[dc.fields]\naccess = "none"\n', r"line 2: access can't go to 'none'; write one of"),
        ('[dc.fields]\ncolour = "type"\n', r"line 2: 'colour' is no field of an entry"),
        ('[labels]\ncolour = "Colour"\n', r"line 2: 'colour' has no label here"),
        ('\n[ead3]\nlevel = "page"\n', r"line 3: level: input should be 'volume', 'leaf' or"),
        ('[repository]\nisil = "Tarn"\n', r"line 2: 'Tarn' is no ISIL; write a prefix, a dash"),
        ('[repository]\nlanguage = "en"\n', r"line 2: language: "),
        (
            '[accessions."2031-007"]\ntitle = "x"\ndate = "18.4.2031"\n',
            r"line 3: '18.4.2031' is no date; write 2031, 2031-04 or 2031-04-18",
        ),
        ('[accessions."2031-007"]\nowner = "x"\n', r"line 2: 'owner' is nothing that a crosswalk"),
        ("[premis]\nx = 1\n", r"line 1: 'premis' is nothing that a crosswalk has; remove"),
        (
            '[texts]\nitem_title = "{colour}"\n',
            r"line 2: '\{colour\}' has something else in braces",
        ),
        ('[texts]\nunconfirmed = ""\n', r"line 2: unconfirmed: .* at least 1 character"),
        ("[texts\n", r"is not valid TOML: .*line 1.*; correct that line"),
    ],
)
def test_a_wrong_line_is_named_with_what_to_do(tmp_path: Path, text: str, sentence: str) -> None:
    """Before anything is written."""
    path = tmp_path / "own.toml"
    path.write_text(text)
    with pytest.raises(SettingsError, match=sentence):
        load_crosswalk(path)


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    """And the setting that named it."""
    with pytest.raises(SettingsError, match=r"can't be read .*; check the setting crosswalk_file"):
        load_crosswalk(tmp_path / "none.toml")
