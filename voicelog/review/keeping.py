"""Keeping entries as they are although their notes no longer give them so.

Words of a note may be taken out on purpose, or lost by damage. What was understood from them is
still the best that is known: it is put on record as decided, and every later reading keeps it.
"""

from __future__ import annotations

from typing import Any

from voicelog.domain.act import Act
from voicelog.domain.entry import Entry, Status
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.review.replay import in_order_of_coming
from voicelog.store.rows import ENTRY_FIELDS
from voicelog.store.writing import WritableLog

_DERIVED = frozenset({"status", "confidence", "doubts", "cautions", "access"})


def replay(log: WritableLog, reader: Reader) -> dict[str, Entry]:
    """Return what the notes and acts of a log give now, by id; void entries too."""
    lessons = tuple(log.iter_lessons())
    if lessons:
        reader = Reader(reader.vocabulary, reader.options, lessons)
    logbook = Logbook(reader)
    logbook.recall(one.entry for one in log.iter_stored(include_void=True))
    for step in in_order_of_coming(log):
        if isinstance(step, Act):
            logbook.take_act(step)
        else:
            logbook.take(step)
    return {entry.id: entry for entry in logbook.entries(include_void=True)}


def find_unlike(entry: Entry, read: Entry | None) -> dict[str, Any]:
    """Return the values of an entry that a reading would give differently."""
    if read is None:
        # That there is such a thing is decided, too.
        return {} if entry.status is Status.VOID else {"kind": entry.kind}
    unlike = {
        name: getattr(entry, name)
        for name in ENTRY_FIELDS
        if name not in _DERIVED and getattr(entry, name) != getattr(read, name)
    }
    if entry.status is Status.VOID and read.status is not Status.VOID:
        return {"status": Status.VOID}
    if entry.status is not Status.VOID and read.status is Status.VOID:
        # "Strike that" strikes another note once the one that it was said of is gone.
        return {**unlike, "kind": entry.kind, "status": Status.HEARD}
    return unlike
