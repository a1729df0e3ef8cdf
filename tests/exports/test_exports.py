"""What goes out: read back, it is what went in."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.domain.entry import (
    RECORD_FIELDS,
    Access,
    Adhesion,
    Entry,
    Kind,
    Relation,
    RelationKind,
    Side,
    Status,
    format_entry_record,
)
from voicelog.errors import UsageError
from voicelog.exports.csv_table import format_cell, parse_text_cell, write_csv
from voicelog.exports.json_lines import write_json_lines
from voicelog.exports.selection import Selection
from voicelog.exports.target import new_file

POSTCARD = Entry(
    id="e-1",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    leaf="14",
    side=Side.RECTO,
    item=1,
    item_type=("postcard",),
    attachment=("photo corners", "paste"),
    adhesion=Adhesion.LOOSE,
    caption='=HYPERLINK("http://example.invalid")\nsecond line, with a comma',
    dimensions=(108.0, 152.4),
    images=(27, 28),
    relations=(Relation(kind=RelationKind.BEHIND, id="e-2"),),
    notes=(1, 2),
)
any_text = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\0"))


def written_csv(*entries: Entry) -> str:
    stream = io.StringIO(newline="")
    write_csv(enumerate(entries, start=1), stream)
    return stream.getvalue()


def test_columns_are_the_keys_of_the_record_in_their_order() -> None:
    """Always all columns, whatever the entries hold."""
    assert written_csv().splitlines() == [",".join(RECORD_FIELDS)]


def test_rows_end_and_quote_as_rfc_4180_says() -> None:
    """RFC 4180, section 2: CRLF ends a record; quotes are doubled inside quotes."""
    text = written_csv(POSTCARD)
    assert text.endswith("\r\n")
    assert '"\'=HYPERLINK(""http://example.invalid"")\nsecond line, with a comma"' in text


def test_csv_read_back_is_what_went_in() -> None:
    """Lists by "; ", relations as JSON, empty cells for what is not known."""
    [row] = csv.DictReader(io.StringIO(written_csv(POSTCARD), newline=""))
    assert row["attachment"].split("; ") == ["photo corners", "paste"]
    assert [float(side) for side in row["dimensions"].split("; ")] == [108.0, 152.4]
    assert json.loads(row["relations"]) == [{"kind": "behind", "id": "e-2"}]
    assert row["blank"] == "false"
    assert row["date"] == ""
    assert parse_text_cell(row["caption"]) == POSTCARD.caption


@given(any_text)
def test_any_text_survives_a_cell_and_starts_no_formula(text: str) -> None:
    """The apostrophe that disarms a formula can always be told from one that was said."""
    cell = format_cell(text)
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert parse_text_cell(cell) == text


def test_json_lines_are_the_records_of_the_contract() -> None:
    """Nothing is left out, nothing is escaped that need not be."""
    stream = io.StringIO()
    entry = replace(POSTCARD, caption="Fête “au bord de l’eau”")
    assert write_json_lines([(7, entry)], stream) == 1
    assert json.loads(stream.getvalue()) == format_entry_record(entry, number=7)
    assert "Fête" in stream.getvalue()


def test_restricted_entries_stay_unless_asked_for_and_void_ones_always() -> None:
    """What stays is counted, so that nobody takes the file for complete."""
    secret = replace(POSTCARD, id="e-2", access=Access.RESTRICTED)
    void = replace(POSTCARD, id="e-3", status=Status.VOID)
    entries = list(enumerate((POSTCARD, secret, void), start=1))
    selection = Selection(entries)
    assert [entry.id for _, entry in selection] == ["e-1"]
    assert selection.left_out == 1
    everything = Selection(entries, include_restricted=True)
    assert [entry.id for _, entry in everything] == ["e-1", "e-2"]
    assert everything.left_out == 0


def test_the_same_log_gives_the_same_bytes() -> None:
    """An export can be compared with an earlier one."""
    assert written_csv(POSTCARD, POSTCARD) == written_csv(POSTCARD, POSTCARD)


def test_a_file_is_complete_or_as_it_was(tmp_path: Path) -> None:
    """An export that fails half-way leaves the old file and nothing beside it."""
    target = tmp_path / "entries.csv"
    target.write_text("old")

    def half_way() -> None:
        with new_file(target) as stream:
            stream.write("half")
            raise RuntimeError("interrupted")

    with pytest.raises(RuntimeError, match="interrupted"):
        half_way()
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]
    with new_file(target) as stream:
        stream.write("new")
    assert target.read_text() == "new"


def test_targets_that_can_not_be_written_are_named(tmp_path: Path) -> None:
    """A folder, a device, a folder that is not there."""
    for path, sentence in (
        (tmp_path, "is not a file; name a file with --out"),
        (Path("/dev/null"), "is not a file; name a file with --out"),
        (tmp_path / "nowhere" / "x.csv", "is not there; make it, or name another"),
    ):
        with pytest.raises(UsageError, match=sentence), new_file(path):
            pass


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    """The file behind it is replaced."""
    real = tmp_path / "real.csv"
    real.write_text("old")
    link = tmp_path / "link.csv"
    link.symlink_to(real)
    with new_file(link) as stream:
        stream.write("new")
    assert link.is_symlink()
    assert real.read_text() == "new"
