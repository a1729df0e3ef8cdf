"""Edits that were made in a table, as acts of review: planned whole, then done row by row.

Nothing is done until every row was found to make sense, so a table goes in as a whole or not at
all. Each row says which version of its entry it was made from; where the entry changed since,
the row is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from voicelog.domain.act import Seen
from voicelog.domain.entry import Entry, Kind, Status, format_entry_record
from voicelog.domain.plain_values import plain_value
from voicelog.errors import ReviewError, ValueRefused
from voicelog.exports.tables.edited import EditedRow, is_same
from voicelog.exports.tables.rows import COLUMNS, VERSION
from voicelog.review.acting import Done, name_entry
from voicelog.review.reviewer import Reviewer
from voicelog.store.entry_log import StoredEntry

_FOLLOWING = frozenset({"id", "entry", "confidence", "notes", "doubts", "cautions", VERSION})
"""Columns that follow from others; what a table says there is passed over."""
ITEM = "item"
_SIDE_OF_A_LEAF = ("leaf", "side")
"""Columns that are one value: where an entry is."""
_TWO_NUMBERS = re.compile(r"\s*([\d.]+)\s*;\s*([\d.]+)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class CellEdit:
    """One value before and after, as entry records write it.

    Attributes:
        field: the field.
        before: its value now.
        after: what the cell comes to.
        typed: what the cell says, in the form that a reviewer types.
    """

    field: str
    before: Any
    after: Any
    typed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RowEdits:
    """What one row of a table changes in one entry.

    Attributes:
        line: the row's number in the table, the header being 1.
        stored: the entry as it is now.
        cells: the changed values, its status aside.
        status: what becomes of its status, or None where it stays.
    """

    line: int
    stored: StoredEntry
    cells: tuple[CellEdit, ...]
    status: Status | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Why a row can't go in: the row's number, and a sentence."""

    line: int
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EditPlan:
    """All that a table changes, and all that is wrong with it.

    Attributes:
        rows: how many rows the table has.
        edits: the rows that change something.
        problems: why the table can't go in; empty where it can.
    """

    rows: int
    edits: tuple[RowEdits, ...]
    problems: tuple[Problem, ...]


class TableEdits:
    """Brings edited rows into a log.

    Args:
        reviewer: who does it.
    """

    def __init__(self, reviewer: Reviewer) -> None:
        self._reviewer = reviewer

    def plan(self, rows: Iterable[EditedRow], stored: Iterable[StoredEntry]) -> EditPlan:
        """Find out what a table changes; nothing is written.

        Args:
            rows: the table as it came back; rows that are not in it stay as they are.
            stored: all entries of the log, void ones too.
        """
        by_id = {one.entry.id: one for one in stored}
        edits: list[RowEdits] = []
        problems: list[Problem] = []
        seen: set[str] = set()
        count = 0
        for row in rows:
            count += 1
            id_ = row.cells["id"].strip()
            if id_ in seen:
                problems.append(Problem(line=row.line, message=f"The entry {id_} is there twice."))
            elif id_ not in by_id:
                problems.append(Problem(line=row.line, message=_tell_unknown(id_)))
            else:
                seen.add(id_)
                try:
                    planned = self._plan_row(row, by_id[id_])
                except ReviewError as refused:
                    problems.append(Problem(line=row.line, message=str(refused)))
                else:
                    if planned.cells or planned.status:
                        edits.append(planned)
        return EditPlan(rows=count, edits=tuple(edits), problems=tuple(problems))

    def apply(self, plan: EditPlan) -> None:
        """Do what was planned: all of it, or nothing.

        A confirmed entry is opened for its edits and confirmed again.

        Raises:
            ReviewError: somebody changed an entry meanwhile, or its volume is signed off; what
                had been done was taken back.
            StoreError: the log can't be written; likewise.
        """
        # An act may change other entries than its own (a volume's name stands in all its rows).
        versions = {row.stored.entry.id: row.stored.version for row in plan.edits}
        done = 0
        try:
            for row in plan.edits:
                id_ = row.stored.entry.id
                for act in self._acts(row):
                    changed = act(Seen(entry=id_, version=versions[id_])).changed
                    versions |= {seen.entry: seen.version for seen in changed}
                    done += 1
        except BaseException:
            for _ in range(done):
                self._reviewer.undo()
            raise

    def _acts(self, row: RowEdits) -> Iterator[Callable[[Seen], Done]]:
        reviewer = self._reviewer
        was_confirmed = row.stored.entry.status is Status.CONFIRMED
        if was_confirmed:
            yield reviewer.reopen
        is_moved = False
        for cell in row.cells:
            if cell.field not in _SIDE_OF_A_LEAF:
                yield partial(reviewer.set_value, field=cell.field, typed=cell.typed)
            elif not is_moved:
                is_moved = True
                yield partial(reviewer.move, typed=cell.typed)
        if row.status is Status.VOID:
            yield reviewer.void
        elif row.status is Status.CONFIRMED or (was_confirmed and row.status is None):
            yield lambda seen: reviewer.confirm([seen])

    def _plan_row(self, row: EditedRow, stored: StoredEntry) -> RowEdits:
        entry = stored.entry
        record = format_entry_record(entry, number=stored.number)
        changed = [
            column
            for column in COLUMNS
            if column in row.cells
            and column not in _FOLLOWING
            and not is_same(column, row.cells[column], record[column])
        ]
        planned = RowEdits(line=row.line, stored=stored, cells=(), status=None)
        if not changed:
            return planned
        if not is_same(VERSION, row.cells[VERSION], stored.version):
            raise ReviewError(
                f"{name_entry(entry)} was changed in the log after the table was exported; "
                "export it again and make the change there."
            )
        if entry.status is Status.VOID:
            raise ReviewError(f"{name_entry(entry)} is void; restore it in the review first.")
        if "status" in changed:
            planned = replace(planned, status=_find_status(entry, row.cells["status"]))
        # An entry is moved before anything else: what comes to a side is numbered there.
        cells = [*self._plan_place(entry, changed, row.cells, record)]
        cells += [
            cell
            for column in changed
            if column not in {"status", *_SIDE_OF_A_LEAF}
            and (cell := self._plan_cell(entry, column, row.cells, record))
        ]
        return replace(planned, cells=tuple(cells))

    def _plan_place(
        self,
        entry: Entry,
        changed: Sequence[str],
        cells: Mapping[str, str],
        record: Mapping[str, Any],
    ) -> Iterator[CellEdit]:
        if not set(_SIDE_OF_A_LEAF).intersection(changed):
            return
        if entry.kind is Kind.VOLUME:
            raise ReviewError(f"{name_entry(entry)} is on no leaf; leave leaf and side empty.")
        said = (cells[name] if name in cells else record[name] for name in _SIDE_OF_A_LEAF)
        typed = " ".join(part.strip() for part in said if part)
        try:
            place = self._reviewer.values.parse_place(typed, of=entry)
        except ValueRefused as refused:
            raise ReviewError(f"{name_entry(entry)}: {refused}") from refused
        after = {"leaf": place.leaf, "side": place.side and str(place.side)}
        for name, value in after.items():
            if value != record[name]:
                yield CellEdit(field=name, before=record[name], after=value, typed=typed)

    def _plan_cell(
        self, entry: Entry, column: str, cells: Mapping[str, str], record: Mapping[str, Any]
    ) -> CellEdit | None:
        if column == ITEM:
            return self._plan_number(entry, cells[column], record)
        if column not in self._reviewer.values.fields:
            raise ReviewError(
                f"{column} of {name_entry(entry)} can't be changed in a table; put back "
                f"{str(record[column] if record[column] is not None else 'nothing')!r} and change "
                "it in the review."
            )
        typed = _as_typed(column, cells[column])
        try:
            value = plain_value(self._reviewer.check_typed(column, typed).value)
        except ValueRefused as refused:
            raise ReviewError(f"{name_entry(entry)}: {refused}") from refused
        if value == record[column]:
            return None
        return CellEdit(field=column, before=record[column], after=value, typed=typed)

    def _plan_number(self, entry: Entry, typed: str, record: Mapping[str, Any]) -> CellEdit | None:
        number = typed.strip().removesuffix(".0")
        if entry.kind is not Kind.ITEM or not number.isdecimal() or number == "0":
            raise ReviewError(
                f"{name_entry(entry)} can't have the number {typed!r} on its side; "
                f"put back {record[ITEM] or 'nothing'}, or write a whole number from 1."
            )
        return CellEdit(field=ITEM, before=record[ITEM], after=int(number), typed=number)


def _find_status(entry: Entry, cell: str) -> Status:
    wanted = cell.strip().lower()
    allowed = {"confirmed": Status.CONFIRMED, "void": Status.VOID}
    if entry.status is Status.CONFIRMED:
        allowed["heard"] = Status.HEARD
    if wanted not in allowed:
        raise ReviewError(
            f"The status of {name_entry(entry)} can't become {cell!r}; write "
            f"{' or '.join(allowed)}, or leave it {entry.status}."
        )
    return allowed[wanted]


def _as_typed(column: str, cell: str) -> str:
    if column == "dimensions" and (found := _TWO_NUMBERS.fullmatch(cell)):
        return f"{found[1]} x {found[2]} mm"
    return cell.replace(";", ",") if column == "images" else cell


def _tell_unknown(id_: str) -> str:
    if not id_:
        return "The row has no id; new entries are added in the review, not in a table."
    return f"The log has no entry {id_}; the table was exported from another log."
