"""The table for spreadsheets: read back, it is what went in."""

from __future__ import annotations

import csv
import io
import json

from hypothesis import given
from hypothesis import strategies as st

from voicelog.domain.entry import (
    Adhesion,
    Entry,
    Kind,
    Relation,
    RelationKind,
    Side,
    format_entry_record,
)
from voicelog.exports.tables.csv_table import format_cell, parse_text_cell, write_table
from voicelog.exports.tables.rows import COLUMNS

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
    records = (
        format_entry_record(entry, number=number) for number, entry in enumerate(entries, start=1)
    )
    write_table(((*record.values(), 1) for record in records), stream)
    return stream.getvalue()


def test_columns_are_the_keys_of_the_record_in_their_order() -> None:
    """Always all columns, whatever the entries hold."""
    assert written_csv().splitlines() == [",".join(COLUMNS)]


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


def test_a_number_is_no_formula() -> None:
    """Only text gets the apostrophe."""
    assert format_cell(-1.5) == "-1.5"


@given(any_text)
def test_any_text_survives_a_cell_and_starts_no_formula(text: str) -> None:
    """The apostrophe that disarms a formula can always be told from one that was said."""
    cell = format_cell(text)
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert parse_text_cell(cell) == text


def test_the_same_log_gives_the_same_bytes() -> None:
    """An export can be compared with an earlier one."""
    assert written_csv(POSTCARD, POSTCARD) == written_csv(POSTCARD, POSTCARD)
