"""Reading all notes of a log again: what comes out differently, and what stays decided.

What a person decided is not undone by a reading. A confirmed entry stays as it is, and a
value that a reviewer gave stays in an entry whose other values change.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Protocol

from voicelog.domain.act import Act, is_decided
from voicelog.domain.bookmark import Bookmark
from voicelog.domain.entry import (
    RECORD_FIELDS,
    Entry,
    Review,
    Status,
    format_entry_record,
)
from voicelog.domain.note import Note
from voicelog.domain.shelf import Shelf
from voicelog.review.replay import acts_behind, in_order_of_coming
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

    def follow(self, act: Act) -> None:
        """Let the context follow a reviewer's act that the stored entries show already."""

    def go_on(self, bookmark: Bookmark, shelf: Shelf) -> None:
        """Go on, before anything is read, from where another one has come to."""

    @property
    def bookmark(self) -> Bookmark:
        """What another one can go on from."""

    def way_of_reading(self, note: int) -> str:
        """Return a digest of all that decides how the notes up to a number are read."""

    def born_in_order(self) -> tuple[str, ...]:
        """Return the ids of all entries in the order in which they came into being."""

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
        otherwise: entries that the notes give otherwise than they are stored from then on; None
            for those that they don't give.
        last_note: the number of the last note that was read; 0 where there was none.
        bookmark: where reading had come to behind it; None where nothing was read.
    """

    notes: int
    changes: tuple[EntryChange, ...]
    understanding: Understanding
    otherwise: Mapping[str, Entry | None] = field(default_factory=lambda: MappingProxyType({}))
    last_note: int = 0
    bookmark: Bookmark | None = None

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
    notes = last_note = 0
    bookmark = interpreter.bookmark
    for step in in_order_of_coming(log):
        if isinstance(step, Act):
            interpreter.take_act(step)
        else:
            interpreter.take(step)
            notes, last_note, bookmark = notes + 1, step.number, interpreter.bookmark
    compared = compare(
        stored,
        interpreter.entries(include_void=True),
        notes=notes,
        struck=interpreter.struck,
        as_read=interpreter.as_read(),
        order=interpreter.born_in_order(),
    )
    return replace(compared, last_note=last_note, bookmark=bookmark)


def go_on(log: Log, interpreter: Interpreter) -> bool:
    """Let an interpreter go on from where reading had come to, if it would come there again.

    What a reviewer did since is taken as it is stored. All notes have to be read where they are
    read otherwise now, or where a reviewer has changed an entry that was stored otherwise than
    the notes give it.

    Args:
        log: the log, open for writing.
        interpreter: a fresh one.

    Returns:
        whether it has gone on; if not, it is as fresh as before.
    """
    kept = log.find_kept_reading()
    if kept is None or kept.way != interpreter.way_of_reading(kept.note):
        return False
    since = {
        decision.entry
        for act in log.iter_acts(behind_note=kept.note)
        for decision in act.decisions
        if act.number > kept.act
    }
    if log.is_any_read_otherwise(since):
        return False
    interpreter.go_on(kept.bookmark, log.shelf())
    for act in acts_behind(log, kept.note):
        interpreter.follow(act)
    return True


def compare(
    stored: Sequence[tuple[int, Entry]],
    fresh: Sequence[Entry],
    *,
    notes: int,
    struck: frozenset[int],
    as_read: Mapping[str, Entry] = MappingProxyType({}),
    order: Sequence[str] | None = None,
) -> Rereading:
    """Hold a fresh understanding against the stored one.

    Args:
        stored: display number and entry, void ones last.
        fresh: all entries of the fresh reading, void ones too, in display order.
        notes: how many notes were read.
        struck: the notes that the fresh reading struck.
        as_read: confirmed entries as the notes alone would have given them, where the fresh
            understanding has them as they were confirmed.
        order: the ids of the fresh entries in the order in which they came into being; the
            display order unless given.
    """
    before = {entry.id: (number, entry) for number, entry in stored}
    born = list(order) if order is not None else [entry.id for entry in fresh]
    given = set(born)
    otherwise: dict[str, Entry | None] = {}
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
        # Opened again, an entry that is kept would come out as it is read.
        if now != entry or (change and change.outcome is Outcome.KEPT):
            otherwise[entry.id] = entry
    kept: set[str] = set()
    for number, was in stored:
        if was.id in given:
            continue
        otherwise[was.id] = None
        if was.status is Status.VOID:
            continue
        is_kept = was.status is Status.CONFIRMED or is_decided(was, "kind")
        changes.append(_make_gone(number, was, is_kept=is_kept))
        if is_kept:
            kept.add(was.id)
    if kept:
        born = _keep_places(born, kept, [entry.id for _, entry in stored])
    return Rereading(
        notes=notes,
        changes=tuple(changes),
        understanding=Understanding(changed=tuple(to_store), order=tuple(born), struck=struck),
        otherwise=otherwise,
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


def _keep_places(order: Sequence[str], kept: Collection[str], stored: Sequence[str]) -> list[str]:
    """Return an order with entries added, each behind the nearest that stood before it."""
    followers: dict[str | None, list[str]] = {}
    given = set(order)
    before: str | None = None
    for id_ in stored:
        if id_ in kept:
            followers.setdefault(before, []).append(id_)
        elif id_ in given:
            before = id_
    settled = list(followers.get(None, ()))
    for id_ in order:
        settled += [id_, *followers.get(id_, ())]
    return settled
