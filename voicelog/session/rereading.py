"""Reading all notes of a log again: what comes out differently, and what stays decided.

What a person decided is not undone by a reading. A confirmed entry stays as it is, and a
value that a reviewer gave stays in an entry whose other values change.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Protocol

from voicelog.domain.act import Act, is_decided
from voicelog.domain.entry import (
    RECORD_FIELDS,
    Entry,
    Review,
    Status,
    format_entry_record,
)
from voicelog.domain.note import Note
from voicelog.review.replay import in_order_of_coming
from voicelog.store.log import Log
from voicelog.store.writing import Understanding

_IN_REVIEW = frozenset({"status", "confidence", "doubts", "notes"})
"""What a review settles: an entry once confirmed is not doubted by a later reading."""


class Interpreter(Protocol):
    """What is asked of the logbook that understands the notes."""

    @property
    def struck(self) -> frozenset[int]:
        """The numbers of the notes that were struck by voice."""

    def recall(self, stored: Iterable[Entry]) -> None:
        """Learn, before anything is read, what the log holds already."""

    def take(self, note: Note) -> tuple[Entry, ...]:
        """Understand one more note; return the entries it made or changed."""

    def take_act(self, act: Act) -> None:
        """Do what a reviewer decided between two notes."""

    def as_read(self) -> Mapping[str, Entry]:
        """Return the confirmed entries as the notes alone would have given them."""

    def entries(self, *, include_void: bool = False) -> tuple[Entry, ...]:
        """Return all entries in display order."""


class Outcome(StrEnum):
    """What a rereading does to an entry."""

    NEW = "new"
    CHANGED = "changed"
    VOID = "void"
    KEPT = "kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChange:
    """One value before and after, as entry records write it."""

    field: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryChange:
    """An entry that comes out differently.

    Attributes:
        outcome: new, changed, void because no note gives it any more, or kept although it
            would have changed, because it is confirmed or a person made it.
        number: its display number before, or None for a new one.
        entry: the entry as the log now has it; the stored one where it is kept or void.
        fields: what differs, or would; empty where only the words behind the values do.
    """

    outcome: Outcome
    number: int | None
    entry: Entry
    fields: tuple[FieldChange, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rereading:
    """What all notes of a log mean now, against what is stored.

    Attributes:
        notes: how many notes were read.
        changes: the entries that come out differently, in display order; kept ones too.
        understanding: what to store.
    """

    notes: int
    changes: tuple[EntryChange, ...]
    understanding: Understanding

    @property
    def changed(self) -> int:
        """How many entries differ from what was stored, kept ones left out."""
        return sum(change.outcome is not Outcome.KEPT for change in self.changes)

    @property
    def kept(self) -> int:
        """How many confirmed entries would have changed and stay as they are."""
        return len(self.changes) - self.changed


def reread(log: Log, interpreter: Interpreter) -> Rereading:
    """Have all notes of a log understood anew; nothing is written.

    Args:
        log: the log, open for reading or writing.
        interpreter: a fresh one; afterwards it knows all notes.
    """
    stored = tuple(log.iter_entries(include_void=True))
    interpreter.recall(entry for _, entry in stored)
    notes = 0
    for step in in_order_of_coming(log):
        if isinstance(step, Act):
            interpreter.take_act(step)
        else:
            interpreter.take(step)
            notes += 1
    return compare(
        stored,
        interpreter.entries(include_void=True),
        notes=notes,
        struck=interpreter.struck,
        as_read=interpreter.as_read(),
    )


def compare(
    stored: Sequence[tuple[int, Entry]],
    fresh: Sequence[Entry],
    *,
    notes: int,
    struck: frozenset[int],
    as_read: Mapping[str, Entry] = MappingProxyType({}),
) -> Rereading:
    """Hold a fresh understanding against the stored one.

    Args:
        stored: display number and entry, void ones last.
        fresh: all entries of the fresh reading, void ones too, in display order.
        notes: how many notes were read.
        struck: the notes that the fresh reading struck.
        as_read: confirmed entries as the notes alone would have given them, where the fresh
            understanding has them as they were confirmed.
    """
    before = {entry.id: (number, entry) for number, entry in stored}
    order = [entry.id for entry in fresh]
    given = set(order)
    to_store: list[Entry] = []
    changes: list[EntryChange] = []
    for entry in fresh:
        if entry.id not in before:
            to_store.append(entry)
            # What was struck at once never was an entry to anybody.
            if entry.status is not Status.VOID:
                changes.append(_make_new(entry))
            continue
        number, was = before[entry.id]
        now = was if was.status is Status.CONFIRMED else _keep_decisions(was, entry)
        to_store.append(now)
        read = as_read.get(entry.id, entry)
        if change := _compare_entry(number, was, now, read=read):
            changes.append(change)
    for number, was in stored:
        if was.id in given or was.status is Status.VOID:
            continue
        is_kept = was.status is Status.CONFIRMED or is_decided(was, "kind")
        changes.append(_make_gone(number, was, is_kept=is_kept))
        if is_kept:
            order.insert(_place_after(order, was.id, stored), was.id)
    return Rereading(
        notes=notes,
        changes=tuple(changes),
        understanding=Understanding(changed=tuple(to_store), order=tuple(order), struck=struck),
    )


def _compare_entry(number: int, was: Entry, now: Entry, *, read: Entry) -> EntryChange | None:
    if now != was:
        is_gone = now.status is Status.VOID and was.status is not Status.VOID
        return EntryChange(
            outcome=Outcome.VOID if is_gone else Outcome.CHANGED,
            number=number,
            entry=was if is_gone else now,
            fields=_find_changes(was, now),
        )
    if was.status is Status.CONFIRMED and (fields := _find_undecided(was, read)):
        return EntryChange(outcome=Outcome.KEPT, number=number, entry=was, fields=fields)
    return None


def _make_new(entry: Entry) -> EntryChange:
    empty = Entry(id=entry.id, kind=entry.kind)
    fields = _find_changes(empty, entry)
    return EntryChange(outcome=Outcome.NEW, number=None, entry=entry, fields=fields)


def _make_gone(number: int, was: Entry, *, is_kept: bool) -> EntryChange:
    return EntryChange(
        outcome=Outcome.KEPT if is_kept else Outcome.VOID,
        number=number,
        entry=was,
        fields=_find_changes(was, replace(was, status=Status.VOID)),
    )


def _keep_decisions(was: Entry, now: Entry) -> Entry:
    """Return the fresh entry with the values that a reviewer gave the stored one."""
    if was.mark is not None and now.mark != was.mark and (now.mark or "inscribed" in was.action):
        # What was written on an object is a fact, however the notes are read today.
        now = replace(now, mark=was.mark)
    decided = {
        name: origin
        for name, origin in was.sources.items()
        # Whether an open entry is heard or queried follows from its doubts.
        if isinstance(origin, Review) and (name != "status" or was.status is Status.VOID)
    }
    if not decided:
        return now
    values: dict[str, Any] = {name: getattr(was, name) for name in decided if hasattr(was, name)}
    return replace(now, **values, sources=MappingProxyType({**now.sources, **decided}))


def _find_undecided(was: Entry, read: Entry) -> tuple[FieldChange, ...]:
    """Return what a reading would change in a confirmed entry, decided values left out."""
    wanted = _keep_decisions(was, read)
    return tuple(change for change in _find_changes(was, wanted) if change.field not in _IN_REVIEW)


def _find_changes(was: Entry, now: Entry) -> tuple[FieldChange, ...]:
    before = format_entry_record(was, number=0)
    after = format_entry_record(now, number=0)
    return tuple(
        FieldChange(field=name, before=before[name], after=after[name])
        for name in RECORD_FIELDS
        if before[name] != after[name]
    )


def _place_after(order: Sequence[str], id_: str, stored: Iterable[tuple[int, Entry]]) -> int:
    """Return where an entry belongs in an order: behind the nearest that stood before it."""
    place = 0
    for _, entry in stored:
        if entry.id == id_:
            break
        if entry.id in order:
            place = order.index(entry.id) + 1
    return place
