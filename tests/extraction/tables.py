"""Writing "what is said, what the log then holds" so that a table of it can be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from voicelog.domain.entry import Entry, format_entry_record
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader

Row = dict[str, Any]

EMPTY: Row = {
    "kind": None, "accession": None, "volume": None, "volume_name": None, "leaf": None,
    "side": None, "item": None, "item_type": [], "quantity": 1, "attachment": [],
    "adhesion": None, "condition": [], "action": [], "enclosure": None, "caption": None,
    "date": None, "dimensions": None, "position": None, "images": [], "relations": [],
    "blank": False, "binding": None, "support": None, "overlay": None, "leaves": None,
    "remark": None, "queried": False,
}  # fmt: skip
"""Every field that a case answers for, with what it holds when nothing was said."""
OF_THE_VOLUME = frozenset({"accession", "volume", "volume_name"})
"""Fields that leaf and item rows carry over: compared there only where a case names them."""


class Anything:
    """Stands for a value that the rule leaves open."""

    def __repr__(self) -> str:
        return "ANYTHING"


class Words(str):
    """Stands for a text that holds these words, among others."""

    __slots__ = ()


ANYTHING = Anything()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One sentence of a rule at work.

    Attributes:
        says: the rule's own words, or what the example shows of them.
        notes: what is said, note by note.
        rows: the whole log after the last note, void entries left out.
    """

    says: str
    notes: tuple[str, ...]
    rows: tuple[Row, ...]

    def __str__(self) -> str:
        return " | ".join(self.notes)

    def after(self, *notes: str) -> Case:
        """Return the case with these notes said first."""
        return replace(self, notes=(*notes, *self.notes))


def case(says: str, notes: str, *rows: Row) -> Case:
    """Return a case; the notes stand in one string, with " | " between them."""
    return Case(says=says, notes=tuple(notes.split(" | ")), rows=rows)


def item(place: str, item_type: str, **fields: Any) -> Row:
    """Return an item row: ``item("3 recto 1", "postcard")``, ``item("front cover 1", ...)``."""
    where, _, number = place.rpartition(" ")
    return {
        "kind": "item",
        **_place(where),
        "item": int(number),
        "item_type": [item_type],
        **fields,
    }


def leaf(place: str, **fields: Any) -> Row:
    """Return a leaf row: ``leaf("3 recto")``; ``leaf("3")`` means both sides."""
    return {"kind": "leaf", **_place(place), **fields}


def volume(number: str | None, **fields: Any) -> Row:
    """Return a volume row."""
    return {"kind": "volume", "volume": number, **fields}


def _place(place: str) -> Row:
    where, _, side = place.rpartition(" ")
    if side in {"recto", "verso"}:
        return {"leaf": where, "side": side}
    return {"leaf": place}


def read_log(notes: Sequence[str | Note], reader: Reader) -> Logbook:
    """Return the logbook after these notes."""
    logbook = Logbook(reader)
    for number, note in enumerate(notes, start=1):
        if isinstance(note, str):
            logbook.take(Note(number=number, uid=f"note-{number}", text=note))
        else:
            logbook.take(note)
    return logbook


def rows_of(entries: Sequence[Entry]) -> list[Row]:
    """Return entries as rows with every field of :data:`EMPTY`."""
    places = {entry.id: entry for entry in entries}
    return [_row_of(entry, places) for entry in entries]


def assert_log(row: Case, reader: Reader) -> None:
    """Read the notes of a case and compare the log with its rows."""
    log = read_log(row.notes, reader)
    assert not differences(row.rows, rows_of(log.entries())), row.says


def _row_of(entry: Entry, places: dict[str, Entry]) -> Row:
    record = format_entry_record(entry, number=0)
    record["queried"] = record["status"] == "queried"
    record["relations"] = [
        (str(one.kind), next(iter(places[one.id].item_type), None)) for one in entry.relations
    ]
    return {name: record[name] for name in EMPTY}


def differences(expected: Sequence[Row], got: Sequence[Row]) -> list[str]:
    """Return what the log holds otherwise than expected, one sentence each."""
    found = [] if len(expected) == len(got) else [f"{len(expected)} rows expected, {len(got)} read"]
    if found:
        found += [f"read: {_brief(row)}" for row in got]
    for number, (want, have) in enumerate(zip(expected, got, strict=False), start=1):
        found += [f"row {number} {difference}" for difference in _compare(want, have)]
    return found


def _compare(want: Row, have: Row) -> Iterator[str]:
    for name, empty in EMPTY.items():
        if name not in want and name in OF_THE_VOLUME and want["kind"] != "volume":
            continue
        expected, value = want.get(name, empty), have[name]
        if expected is ANYTHING:
            continue
        if isinstance(expected, Words):
            if str(expected).lower() not in str(value or "").lower():
                yield f"{name}: {str(expected)!r} expected in {value!r}"
        elif expected != value:
            yield f"{name}: {expected!r} expected, {value!r} read"


def _brief(row: Row) -> Row:
    return {name: value for name, value in row.items() if value != EMPTY[name]}
