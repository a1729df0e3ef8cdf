"""Edits made in a table: out, edited as a spreadsheet would, and back as acts of review."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.exports.logs import make_log, write
from voicelog.domain.entry import Entry, Kind, Review, Side, Status
from voicelog.errors import EntryChanged, UnusableInput
from voicelog.exports.tables.edited import is_same, read_edited
from voicelog.extraction.reader import Reader
from voicelog.review.reviewer import Reviewer
from voicelog.review.table_edits import EditPlan, TableEdits
from voicelog.store.log import Log

POSTCARD = Entry(
    id="e-1",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    leaf="14",
    side=Side.RECTO,
    item=1,
    item_type=("postcard",),
    condition=("yellowed",),
    images=(27, 28),
    dimensions=(108.0, 152.4),
    date="1952-06-04",
    caption="=1+1, or so\x1b",
    status=Status.CONFIRMED,
)
CLIPPING = Entry(
    id="e-2",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    leaf="14",
    side=Side.RECTO,
    item=2,
    item_type=("newspaper clipping",),
    handler="Ada Fenn",
)
BLANK = Entry(id="e-3", kind=Kind.LEAF, accession="2031-007", volume="1", leaf="15", blank=True)
VOID = Entry(id="e-4", kind=Kind.ITEM, leaf="16", status=Status.VOID)


class Spreadsheet:
    """A log, its table, and what somebody does to it in a spreadsheet."""

    def __init__(self, folder: Path, reader: Reader, *before: Entry) -> None:
        self.log = make_log(folder / "log", *before, POSTCARD, CLIPPING, BLANK, VOID)
        self.path = write("csv", self.log, folder / "entries.csv")
        self.reviewer = Reviewer(self.log, reader, by="Ada Fenn", made_by="voicelog test")
        self.edits = TableEdits(self.reviewer)

    def edit(self, id_: str, *, delimiter: str = ",", **cells: str) -> None:
        with self.path.open(encoding="utf-8-sig", newline="") as stream:
            first = stream.readline()
            stream.seek(0)
            rows = list(csv.DictReader(stream, delimiter=max(",;\t", key=first.count)))
        for row in rows:
            if row["id"] == id_:
                row.update(cells)
        stream = io.StringIO(newline="")
        writer = csv.DictWriter(stream, list(rows[0]), delimiter=delimiter)
        writer.writeheader()
        writer.writerows(rows)
        # What some spreadsheets put before UTF-8.
        self.path.write_text(stream.getvalue(), encoding="utf-8-sig", newline="")

    def plan(self) -> EditPlan:
        with Log.open(self.log) as log:
            return self.edits.plan(read_edited(self.path), log.iter_stored(include_void=True))

    def bring_back(self) -> EditPlan:
        plan = self.plan()
        assert plan.problems == ()
        self.edits.apply(plan)
        return plan

    def entry(self, id_: str) -> Entry:
        return self.reviewer.read(id_).entry


@pytest.fixture
def spreadsheet(tmp_path: Path, reader: Reader) -> Spreadsheet:
    return Spreadsheet(tmp_path, reader)


def test_an_unchanged_table_changes_nothing(spreadsheet: Spreadsheet) -> None:
    """Also not the caption that no reviewer could type."""
    assert spreadsheet.plan() == EditPlan(rows=3, edits=(), problems=())
    spreadsheet.edit("e-1", delimiter=";")
    assert spreadsheet.plan().edits == ()


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_changed_cells_become_acts_of_review(spreadsheet: Spreadsheet, delimiter: str) -> None:
    """Read as in the review, kept with who and what was there; a synonym is no change."""
    spreadsheet.edit(
        "e-2",
        delimiter=delimiter,
        item_type="clipping",
        date="about 1960",
        condition="yellowed; tear",
        images="27; 28; 29",
        caption="=SUM(A1)",
        dimensions="11 x 14 inches",
    )
    [row] = spreadsheet.bring_back().edits
    assert [cell.field for cell in row.cells] == [
        "condition",
        "caption",
        "date",
        "dimensions",
        "images",
    ]
    entry = spreadsheet.entry("e-2")
    assert entry.date == "1960~"
    assert entry.condition == ("yellowed", "tear")
    assert entry.images == (27, 28, 29)
    assert entry.caption == "=SUM(A1)"
    assert entry.dimensions == (279.4, 355.6)
    origin = entry.sources["date"]
    assert isinstance(origin, Review)
    assert (origin.by, origin.was) == ("Ada Fenn", None)


def test_a_confirmed_entry_is_opened_edited_and_confirmed_again(
    spreadsheet: Spreadsheet,
) -> None:
    """The usual export holds nothing else; the history shows each step."""
    spreadsheet.edit("e-1", remark="a pressed leaf lay here", date="")
    spreadsheet.bring_back()
    entry = spreadsheet.entry("e-1")
    assert (entry.remark, entry.date, entry.status) == (
        "a pressed leaf lay here",
        None,
        Status.CONFIRMED,
    )
    with Log.open(spreadsheet.log) as log:
        kinds = [str(act.kind) for act in log.iter_acts()]
    assert kinds == ["reopen", "set", "set", "confirm"]


@pytest.mark.parametrize(
    ("id_", "wanted", "status"),
    [
        ("e-2", "confirmed", Status.CONFIRMED),
        ("e-2", "VOID", Status.VOID),
        ("e-1", "void", Status.VOID),
        ("e-1", "heard", Status.HEARD),
    ],
)
def test_a_status_can_be_decided_in_a_table(
    spreadsheet: Spreadsheet, id_: str, wanted: str, status: Status
) -> None:
    """Confirmed, void, and of a confirmed entry heard."""
    spreadsheet.edit(id_, status=wanted)
    spreadsheet.bring_back()
    assert spreadsheet.entry(id_).status is status


@pytest.mark.parametrize(
    ("id_", "cells", "place"),
    [
        ("e-2", {"leaf": "15", "side": "verso"}, ("15", "verso", 1)),
        ("e-2", {"side": "verso"}, ("14", "verso", 1)),
        ("e-2", {"leaf": "front cover", "side": ""}, ("front cover", None, 1)),
        ("e-2", {"leaf": "15", "item": "1"}, ("15", "recto", 1)),
        ("e-2", {"item": "1.0"}, ("14", "recto", 1)),
        ("e-3", {"leaf": "16"}, ("16", None, None)),
        ("e-3", {"leaf": "16", "side": "verso"}, ("16", "verso", None)),
    ],
)
def test_an_entry_is_moved_by_its_cells(
    spreadsheet: Spreadsheet, id_: str, cells: dict[str, str], place: tuple[object, ...]
) -> None:
    """Leaf and side are one value; an item that comes to a side is numbered there."""
    if cells == {"item": "1.0"}:
        # The other item of the side gets another number, so it must not be confirmed.
        spreadsheet.reviewer.reopen(spreadsheet.reviewer.read("e-1").seen)
        spreadsheet.path = write("csv", spreadsheet.log, spreadsheet.path)
    spreadsheet.edit(id_, **cells)
    spreadsheet.bring_back()
    entry = spreadsheet.entry(id_)
    assert (entry.leaf, entry.side, entry.item) == place


def test_two_items_change_places(spreadsheet: Spreadsheet) -> None:
    """Whichever of the two rows is read first."""
    spreadsheet.reviewer.reopen(spreadsheet.reviewer.read("e-1").seen)
    spreadsheet.path = write("csv", spreadsheet.log, spreadsheet.path)
    spreadsheet.edit("e-1", item="2")
    spreadsheet.edit("e-2", item="1")
    spreadsheet.bring_back()
    assert (spreadsheet.entry("e-1").item, spreadsheet.entry("e-2").item) == (2, 1)


@pytest.mark.parametrize(
    ("id_", "cells", "sentence"),
    [
        ("e-1", {"date": "someday"}, r"leaf 14 recto.*'someday' is no value for date"),
        ("e-1", {"condition": "wobbly"}, "'wobbly'"),
        ("e-2", {"status": "queried"}, "can't become 'queried'; write confirmed or void, or"),
        ("e-2", {"leaf": "somewhere"}, "leaf 14 recto.*'somewhere.*' is no"),
        ("e-2", {"item": "first"}, "can't have the number 'first' on its side; put back 2, or"),
        ("e-2", {"relations": "behind"}, "relations of .* can't be changed in a table"),
        ("e-2", {"handler": "Tom"}, "handler of .* can't be changed in a table; put back 'Ada"),
        ("e-2", {"id": "e-9"}, "The log has no entry e-9; the table was exported from another"),
        ("e-2", {"id": ""}, "The row has no id; new entries are added in the review"),
        ("e-2", {"id": "e-1"}, "The entry e-1 is there twice"),
        ("e-2", {"id": "e-4", "caption": "x"}, "is void; restore it in the review first"),
        ("e-2", {"version": "77", "remark": "x"}, "was changed in the log after the table was"),
    ],
)
def test_one_wrong_row_keeps_the_whole_table_out(
    spreadsheet: Spreadsheet, id_: str, cells: dict[str, str], sentence: str
) -> None:
    """It is named with its number, and says what to do."""
    spreadsheet.edit("e-3", remark="right")
    spreadsheet.edit(id_, **cells)
    [problem] = spreadsheet.plan().problems
    assert problem.line == {"e-1": 2, "e-2": 3}[id_]
    assert re.search(sentence, problem.message)


def test_an_outdated_row_without_an_edit_is_no_conflict(spreadsheet: Spreadsheet) -> None:
    """Somebody else changed another entry meanwhile; nobody's work is lost."""
    spreadsheet.reviewer.set_value(spreadsheet.reviewer.read("e-2").seen, "quantity", "2")
    spreadsheet.edit("e-1", remark="mine")
    plan = spreadsheet.plan()
    assert [problem.line for problem in plan.problems] == [3]
    spreadsheet.edit("e-2", quantity="2")
    spreadsheet.bring_back()
    assert spreadsheet.entry("e-2").quantity == 2


def test_what_fails_half_way_is_taken_back(spreadsheet: Spreadsheet) -> None:
    """As when somebody changes the second entry between the plan and the act."""
    spreadsheet.edit("e-1", remark="first")
    spreadsheet.edit("e-2", remark="second")
    before = spreadsheet.entry("e-1")
    plan = spreadsheet.plan()
    other = Reviewer(spreadsheet.log, spreadsheet.reviewer._seat.reader, by="Tom", made_by="test")
    other.set_value(other.read("e-2").seen, "quantity", "9")
    with pytest.raises(EntryChanged, match="leaf 14 recto"):
        spreadsheet.edits.apply(plan)
    assert spreadsheet.entry("e-1") == before
    assert spreadsheet.entry("e-2").remark is None


def test_a_workbook_comes_back_as_well(spreadsheet: Spreadsheet, tmp_path: Path) -> None:
    """Saved by another program, numbers as numbers; rows may be left out."""
    spreadsheet.path = write("xlsx", spreadsheet.log, tmp_path / "entries.xlsx")
    assert spreadsheet.plan() == EditPlan(rows=3, edits=(), problems=())
    book = openpyxl.load_workbook(spreadsheet.path)
    sheet = book["entries"]
    columns: dict[str, Any] = {str(cell.value): cell.column for cell in sheet[1]}
    sheet.cell(row=3, column=columns["quantity"], value=3)
    sheet.cell(row=3, column=columns["leaves"], value=None)
    sheet.cell(row=4, column=columns["blank"], value=False)
    sheet.delete_rows(2)
    book.save(spreadsheet.path)
    assert spreadsheet.bring_back().rows == 2
    assert spreadsheet.entry("e-2").quantity == 3
    assert spreadsheet.entry("e-3").blank is False


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        ("blank", "TRUE", True),
        ("quantity", "3.0", 3),
        ("dimensions", "108;152.40", [108.0, 152.4]),
        ("caption", "one\r\ntwo", "one\ntwo"),
        ("images", "27;28", [27, 28]),
        ("leaf", "", None),
    ],
)
def test_what_a_spreadsheet_does_to_a_cell_is_no_edit(
    column: str, cell: str, value: object
) -> None:
    """The same value in other clothes."""
    assert is_same(column, cell, value)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "has no column id or version; it must be a table that voicelog exported"),
        (b"a,b\r\n1,2\r\n", "has no column id or version"),
        (b"id,version,colour\r\n", "has a column 'colour' that no entry has; remove it"),
        ("id,version\r\né".encode("latin-1"), "is not UTF-8 text; save it as CSV in UTF-8"),
        (b"PK\x03\x04 no workbook", "is no workbook that can be read"),
        (b'id,version\r\n"e-1,1\r\n', "is no CSV table"),
    ],
)
def test_what_is_no_table_of_entries_is_refused(
    tmp_path: Path, content: bytes, sentence: str
) -> None:
    """In one sentence that says what would do."""
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    with pytest.raises(UnusableInput, match=sentence):
        read_edited(path)


def test_a_wrong_accession_is_put_right_in_all_rows_at_once(tmp_path: Path, reader: Reader) -> None:
    """As one does with a column; the row of the volume, whose rows follow it, among them."""
    volume = Entry(id="v", kind=Kind.VOLUME, accession="2031-007", volume="1")
    spreadsheet = Spreadsheet(tmp_path, reader, volume)
    rows = ("v", "e-1", "e-2", "e-3")
    for id_ in rows:
        spreadsheet.edit(id_, accession="2031-008")
    spreadsheet.bring_back()
    assert {spreadsheet.entry(id_).accession for id_ in rows} == {"2031-008"}
    assert spreadsheet.entry("e-1").status is Status.CONFIRMED
