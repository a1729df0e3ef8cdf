"""What waits for the recogniser: any number of notes, in little memory.

Everything that waits is on the disk already. So only the first few notes are held as
sound; what waits behind them is held as an address and read from the disk when its turn
comes. Nothing is ever dropped.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace

from voicelog.recognition.recogniser import Samples, Segment

HELD_AS_SOUND = 8
"""At most 28 s each, 1.8 MB: 15 MB however long the recogniser takes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpokenNote:
    """A note that has been said to its end and not been heard yet.

    Attributes:
        segment: its sound, with times in its file.
        file: the file in ``audio/`` that holds it, or None where it was said during a
            pause and is kept nowhere.
        closed_at: when its pause had run out, in seconds of the monotonic clock.
    """

    segment: Segment
    file: str | None
    closed_at: float

    @property
    def key(self) -> tuple[str | None, float, float]:
        """What makes it this note and no other."""
        return self.file, self.segment.start_s, self.segment.end_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """Something that is to be told once all notes before it have been heard.

    Attributes:
        tell: called in the thread that hears.
    """

    tell: Callable[[], None]


Reread = Callable[[SpokenNote], Samples]
"""Reads the sound of a note back from the disk."""


class Backlog:
    """Notes and markers that wait, first come first served; safe between two threads."""

    def __init__(self, reread: Reread, *, held_as_sound: int = HELD_AS_SOUND) -> None:
        self._reread = reread
        self._held_as_sound = held_as_sound
        self._waiting: deque[SpokenNote | Marker] = deque()
        self._lock = threading.Lock()

    def __len__(self) -> int:
        return len(self._waiting)

    def put(self, item: SpokenNote | Marker) -> None:
        """Add a note or a marker; never waits."""
        with self._lock:
            is_far_back = len(self._waiting) >= self._held_as_sound
            if is_far_back and isinstance(item, SpokenNote) and item.file is not None:
                item = replace(item, segment=replace(item.segment, samples=_nothing_of(item)))
            self._waiting.append(item)

    def take(self) -> SpokenNote | Marker | None:
        """Return what has waited longest, a note with its sound; None if nothing waits."""
        with self._lock:
            item = self._waiting.popleft() if self._waiting else None
        if isinstance(item, SpokenNote) and not len(item.segment.samples):
            return replace(item, segment=replace(item.segment, samples=self._reread(item)))
        return item

    def oldest_closed_at(self) -> float | None:
        """Return when the note that waits longest was closed, or None if none waits."""
        with self._lock:
            notes = (item for item in self._waiting if isinstance(item, SpokenNote))
            return next((note.closed_at for note in notes), None)


def _nothing_of(note: SpokenNote) -> Samples:
    # A copy, since a slice would keep the whole sound alive.
    nothing: Samples = note.segment.samples[:0].copy()
    return nothing
