"""MARC records: valid, read back by an independent reader, and true to the field definitions."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pymarc
import pytest

from tests.exports.demo import CROSSWALK, demo_entries
from tests.exports.logs import make_log, write
from tests.exports.schemas import find_problems
from voicelog.domain.entry import Access, Entry, Kind, Side, Status
from voicelog.exports.wording import format_size

# MARC 21 Format for Bibliographic Data: indicators and subfields of the fields that we write,
# and which of them repeat. 583 as read in the published definition (bd583); the rest from
# memory of the concise format.
DEFINITIONS = {
    # tag: (first indicators, second indicators, subfields, those that repeat)
    "040": (" ", " ", "abcde", "de"),
    "046": (" 123", " ", "abcdejklmnopxz2", ""),
    "245": ("01", "0123456789", "abcfghknps", "knp"),
    "300": (" ", " ", "abcefg3", "acfg"),
    "340": (" ", " ", "abcdefhijkmnopq02", "abcdefhijkmnopq"),
    "500": (" ", " ", "a35", ""),
    "506": (" 01", " ", "abcdefgu235", "bcdefgu"),
    "520": (" 012348", " ", "abcu23", "u"),
    "540": (" ", " ", "abcdfgqu235", "fgu"),
    "541": (" 01", " ", "abcdefhno35", "no"),
    "561": (" 01", " ", "au35", "u"),
    "563": (" ", " ", "au35", "u"),
    "583": (" 01", " ", "abcdefhijklnouxz235", "bcdefhijklnouxz"),
    "655": (" 0", "01234567", "abcvxyz0123458", "vxyz01"),
    "852": (" 012345678", " 012", "abcdefghijklmnpqstuxz238", "abcdefgklmsuxz"),
}
# Terms seen in the published list, with the use that it gives them in 583.
PDA_TERMS = {"condition reviewed", "conserved", "digitized", "housed", "repaired", "stabilized"}
VOLUME = Entry(
    id="v1",
    kind=Kind.VOLUME,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    recorded_at="2031-05-01T10:00:00+01:00",
    handler="Ada Fenn",
    status=Status.CONFIRMED,
)
TICKET = replace(
    VOLUME, id="i1", kind=Kind.ITEM, leaf="2", side=Side.RECTO, item=1, item_type=("ticket",)
)


def export(folder: Path, *entries: Entry, crosswalk: Path = CROSSWALK) -> list[pymarc.Record]:
    path = write(
        "marcxml",
        make_log(folder / "log", *entries),
        folder / "out.xml",
        crosswalk=crosswalk,
    )
    assert find_problems("marcxml", path) == []
    return list(pymarc.parse_xml_to_array(str(path)))


def subfields(field: pymarc.Field) -> list[tuple[str, str]]:
    return [(one.code, one.value) for one in field.subfields]


def test_the_demo_gives_one_valid_record_for_each_volume(tmp_path: Path) -> None:
    """By MARC21slim, and every field, indicator and subfield is defined and used as defined."""
    records = export(tmp_path, *demo_entries())
    assert [record.title for record in records] == ["the green book,", "the picnic album,"]
    for record in records:
        for field in record.get_fields():
            if field.is_control_field():
                continue
            first, second, codes, repeating = DEFINITIONS[field.tag]
            assert field.indicator1 in first
            assert field.indicator2 in second
            said = [one.code for one in field.subfields]
            assert set(said) <= set(codes), field
            assert all(code in repeating for code in said if said.count(code) > 1), field


def test_the_fixed_fields_are_as_long_as_they_must_be(tmp_path: Path) -> None:
    """Leader 24 characters, 008 40, 005 sixteen; the dates of 008 are those of 245."""
    [record, _] = export(tmp_path, *demo_entries())
    assert len(str(record.leader)) == 24
    assert len(record["008"].data) == 40
    assert record["008"].data[6:15] == "i19491955"
    assert re.fullmatch(r"\d{14}\.0", record["005"].data)
    assert record["245"]["f"] == "1949-1955."


def test_the_title_is_the_donors_and_files_under_its_first_word(tmp_path: Path) -> None:
    """245, second indicator: how many characters an article at the beginning takes."""
    [record] = export(tmp_path, VOLUME)
    assert record["245"].indicator2 == "4"
    assert record["245"]["a"] == "the green book."
    [record] = export(tmp_path, replace(VOLUME, volume_name=None))
    assert (record["245"].indicator2, record["245"]["a"]) == ("0", "Volume 1.")


def test_what_is_said_of_a_volume_is_in_its_record(tmp_path: Path) -> None:
    """Every field of the volume entry that the crosswalk carries."""
    volume = replace(
        VOLUME,
        binding="post binding",
        support="black paper",
        overlay="glassine",
        leaves=24,
        dimensions=(285.8, 355.6),
        date="195X",
        caption="Scraps and Tickets",
        remark="two posts are bent",
        condition=("soiled", "loose leaves"),
        action=("boxed", "posts replaced"),
        enclosure="box 1",
    )
    [record] = export(tmp_path, volume)
    assert record["001"].data == "v1"
    assert record["541"]["e"] == "2031-007"
    assert record["541"]["a"] == "Quillhaven Lamplighters' Social Club"
    assert record["541"]["d"] == "20310418"
    assert subfields(record["300"]) == [
        ("a", "1 volume (24 leaves) :"),
        ("b", "glassine ;"),
        ("c", f"{format_size(volume)} mm"),
    ]
    assert record["340"]["a"] == "black paper"
    assert record["563"]["a"] == "post binding"
    assert subfields(record["046"]) == [("k", "195X"), ("2", "edtf")]
    assert record["245"]["f"] == "1950s."
    notes = [field["a"] for field in record.get_fields("500")]
    assert "Inscription: Scraps and Tickets" in notes
    assert "Remark: two posts are bent" in notes
    assert subfields(record.get_fields("583")[0]) == [
        ("3", "volume"),
        ("a", "condition reviewed"),
        ("c", "20310501"),
        ("k", "Ada Fenn"),
        ("l", "soiled"),
        ("l", "loose leaves"),
        ("2", "pda"),
        ("5", "XX-TvRO"),
    ]
    assert record["561"]["a"] == "Kept in the club house at Quillhaven until 2031."
    assert record["540"]["a"].startswith("Copies for private study")
    assert record["655"]["0"].endswith("gf2014026173")


class TestActionNotes:
    """583, one field for each kind of action, the published terms where they fit."""

    def test_every_pda_note_has_what_the_list_asks_for(self, tmp_path: Path) -> None:
        """$a from the list, $c as YYYYMMDD, $2 and $5; "housed", never "rehoused"."""
        for record in export(tmp_path, *demo_entries()):
            for field in record.get_fields("583"):
                assert field["a"] != "rehoused"
                if "2" in field:
                    assert field["2"] == "pda"
                    assert field["a"] in PDA_TERMS
                    assert re.fullmatch(r"\d{8}", field["c"])
                    assert field["5"] == "XX-TvRO"
                else:
                    assert field["a"] not in PDA_TERMS

    def test_without_a_code_no_note_claims_the_list(self, tmp_path: Path) -> None:
        """A pda note without $5 would not be one."""
        boxed = replace(VOLUME, action=("boxed",), enclosure="box 1")
        empty = tmp_path / "none.toml"
        empty.write_text("")
        [record] = export(tmp_path, boxed, crosswalk=empty)
        assert subfields(record["583"]) == [
            ("3", "volume"),
            ("a", "housed"),
            ("c", "20310501"),
            ("i", "box 1"),
            ("k", "Ada Fenn"),
        ]

    def test_what_was_enclosed_names_its_places_and_envelopes(self, tmp_path: Path) -> None:
        """$3 and $i; each day of work has its own note."""
        enclosed = replace(TICKET, action=("enclosed",), enclosure="envelope 1", quantity=2)
        later = replace(
            enclosed,
            id="i2",
            leaf="3",
            enclosure="envelope 2",
            quantity=1,
            recorded_at="2031-05-02T09:00:00+01:00",
        )
        [record] = export(tmp_path, VOLUME, enclosed, later)
        first, second = record.get_fields("583")
        assert subfields(first) == [
            ("3", "leaf 2 recto, item 1"),
            ("a", "housed"),
            ("c", "20310501"),
            ("i", "envelope 1"),
            ("k", "Ada Fenn"),
            ("n", "2"),
            ("o", "items"),
            ("2", "pda"),
            ("5", "XX-TvRO"),
        ]
        assert (second["3"], second["c"], second["i"]) == (
            "leaf 3 recto, item 1",
            "20310502",
            "envelope 2",
        )

    def test_what_was_discarded_is_told(self, tmp_path: Path) -> None:
        """The public note $z says what it was."""
        old_tape = replace(TICKET, action=("discarded",), remark="failed tape, four strips")
        [record] = export(tmp_path, old_tape)
        assert record["583"]["z"] == "leaf 2 recto, item 1: failed tape, four strips"

    @pytest.mark.parametrize(
        ("row", "action", "example"),
        [
            (
                # Library of Congress, stmanf: an action note of 1986 on a paper survey.
                {
                    "condition": ("Brittle paper", "Binding intact", "Marginalia"),
                    "recorded_at": "1986-07-10T12:00:00-04:00",
                    "handler": None,
                },
                "",
                [
                    ("a", "condition reviewed"),
                    ("c", "19860710"),
                    ("l", "Brittle paper"),
                    ("l", "Binding intact"),
                    ("l", "Marginalia"),
                ],
            ),
            (
                # Sibley Library: 583 1 $3 v. 2 $a mass deacidified $c 20071127 $i MgO $f ...
                # $k Preservation Technologies LP $2 pda $5 NRU-Mus; no field of an entry
                # corresponds to $f.
                {
                    "action": ("deacidified",),
                    "recorded_at": "2007-11-27T12:00:00-05:00",
                    "handler": "Preservation Technologies LP",
                },
                '"deacidified" = {term = "mass deacidified", list = "pda", method = "MgO"}',
                [
                    ("a", "mass deacidified"),
                    ("c", "20071127"),
                    ("i", "MgO"),
                    ("k", "Preservation Technologies LP"),
                    ("2", "pda"),
                    ("5", "NRU-Mus"),
                ],
            ),
        ],
    )
    def test_published_examples_come_out_of_equivalent_rows(
        self,
        tmp_path: Path,
        row: dict[str, object],
        action: str,
        example: list[tuple[str, str]],
    ) -> None:
        """Examples of field 583, rebuilt; $3 and where it wasn't given $2 and $5 left aside."""
        crosswalk = tmp_path / "crosswalk.toml"
        crosswalk.write_text(f'[repository]\nmarc_code = "NRU-Mus"\n[marcxml.actions]\n{action}\n')
        [record] = export(tmp_path, replace(VOLUME, **row), crosswalk=crosswalk)  # type: ignore[arg-type]
        made = [pair for pair in subfields(record["583"]) if pair[0] != "3"]
        codes = {code for code, _ in example}
        assert [pair for pair in made if pair[0] in codes] == example


def test_what_is_unconfirmed_or_restricted_says_so(tmp_path: Path) -> None:
    """500 and $x, 506 with the places."""
    secret = replace(
        TICKET, access=Access.RESTRICTED, status=Status.HEARD, action=("left in place",)
    )
    [record] = export(tmp_path, VOLUME, secret)
    assert record["506"].indicator1 == "1"
    assert record["506"]["3"] == "leaf 2 recto, item 1"
    assert "Not yet confirmed by a reviewer. (leaf 2 recto, item 1)" in [
        field["a"] for field in record.get_fields("500")
    ]
    assert record["583"]["x"] == "Not yet confirmed by a reviewer."
    [record] = export(tmp_path, VOLUME)
    assert "506" not in record


def test_the_crosswalk_moves_a_field(tmp_path: Path) -> None:
    """A repository that keeps inscriptions in a local note says so in one line."""
    crosswalk = tmp_path / "own.toml"
    crosswalk.write_text('[marcxml.fields]\ncaption = "590"\nbinding = "none"\n')
    volume = replace(VOLUME, caption="Scraps", binding="post binding")
    [record] = export(tmp_path, volume, crosswalk=crosswalk)
    assert record["590"]["a"] == "Inscription: Scraps"
    assert "563" not in record


def test_an_empty_log_gives_an_empty_collection(tmp_path: Path) -> None:
    """Valid all the same."""
    assert export(tmp_path) == []


def test_characters_that_xml_forbids_are_made_visible(tmp_path: Path) -> None:
    """The file stays readable."""
    [record] = export(tmp_path, replace(VOLUME, remark="a\x00b\x1b & <c>"))
    assert "Remark: a␀b␛ & <c>" in [field["a"] for field in record.get_fields("500")]
