"""Notes and acts of a log in the order in which they came."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.domain.act import Act
from voicelog.domain.note import Note
from voicelog.store.log import Log


def in_order_of_coming(log: Log) -> Iterator[Note | Act]:
    """Yield every note, and every act of review after the note that it came behind.

    An act that was taken back before another note came is left out, and so is its undoing:
    nobody has read anything in the light of it.
    """
    waiting = _effective(tuple(log.iter_acts()))
    at = 0
    for note in log.iter_own_notes():
        while at < len(waiting) and waiting[at].after_note < note.number:
            yield waiting[at]
            at += 1
        yield note
    yield from waiting[at:]


def acts_behind(log: Log, note: int) -> tuple[Act, ...]:
    """Return the acts that came behind a note, without those that were taken back there."""
    return _effective(tuple(log.iter_acts(behind_note=note)))


def _effective(acts: tuple[Act, ...]) -> tuple[Act, ...]:
    by_number = {act.number: act for act in acts}
    moot: set[int] = set()
    for act in acts:
        undone = by_number.get(act.undoes or 0)
        if undone is not None and undone.after_note == act.after_note:
            moot |= {act.number, undone.number}
    return tuple(act for act in acts if act.number not in moot)
