"""Doubles that we ship and use ourselves, for whatever a test is not about.

A script of what "was said" stands in for a recogniser:

>>> import numpy as np
>>> from voicelog.recognition.recogniser import Segment
>>> recogniser = ScriptedRecogniser(("leaf fourteen recto",))
>>> segment = Segment(samples=np.zeros(16_000, dtype=np.float32), start_s=2.0, end_s=3.0)
>>> recogniser.recognise(segment).words[0]
Word(text='leaf', start_s=2.0, end_s=2.333, confidence=1.0)
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from voicelog.domain.act import Act
from voicelog.domain.bookmark import Bookmark
from voicelog.domain.context import Context
from voicelog.domain.entry import Entry, Kind
from voicelog.domain.note import Note, Word
from voicelog.domain.shelf import Shelf
from voicelog.recognition.recogniser import Heard, Samples, Segment, make_heard


class ScriptedRecogniser:
    """A recogniser that "hears" the lines it was given, one for each segment.

    The words of a line are spread evenly over the segment, each with confidence 1.
    Once the script has run out it hears nothing.

    Attributes:
        heard_segments: the segments it was asked about, in that order.
    """

    engine = "scripted"
    model = "script"

    def __init__(self, lines: Iterable[str]) -> None:
        self._lines = iter(lines)
        self.heard_segments: list[Segment] = []

    def recognise(self, segment: Segment) -> Heard:
        """Return the next line of the script."""
        self.heard_segments.append(segment)
        texts = next(self._lines, "").split()
        step_s = (segment.end_s - segment.start_s) / max(1, len(texts))
        return make_heard(
            [
                Word(
                    text=text,
                    start_s=round(segment.start_s + index * step_s, 3),
                    end_s=round(segment.start_s + (index + 1) * step_s, 3),
                    confidence=1.0,
                )
                for index, text in enumerate(texts)
            ]
        )


class ScriptedListener:
    """A recogniser that "hears" the lines it was given while they are spoken, a note each.

    Every block of sound that is pushed gives one more word; once a note is over, all the
    words of its line were heard, a second each.
    """

    engine = "scripted along"
    model = "script"

    def __init__(self, lines: Iterable[str]) -> None:
        self._lines = iter(lines)

    def open_stream(self) -> ScriptedStream:
        """Begin with the next line of the script."""
        return ScriptedStream(next(self._lines, ""))


class ScriptedStream:
    """One line of a script, word by word."""

    def __init__(self, line: str) -> None:
        self._texts = line.split()
        self._pushed = 0

    def push(self, samples: Samples) -> str:
        """Return one word more than the last time."""
        del samples
        self._pushed += 1
        return " ".join(self._texts[: self._pushed])

    def finish(self) -> tuple[Word, ...]:
        """Return the whole line."""
        return tuple(
            Word(text=text, start_s=float(at), end_s=at + 1.0, confidence=1.0)
            for at, text in enumerate(self._texts)
        )


def make_remark(note: Note) -> Entry:
    """Return an item whose remark is all that was said."""
    return Entry(id=note.uid, kind=Kind.ITEM, remark=note.text, notes=(note.number,))


class PlainLogbook:
    """A logbook that understands nothing: it makes at most one entry of each note.

    It always reads all notes again, unless a way of reading is named.

    Args:
        make: makes the entry of a note, or None.
        way: what tells its way of reading from another's.
    """

    def __init__(
        self, make: Callable[[Note], Entry | None] = make_remark, *, way: str | None = None
    ) -> None:
        self.struck: frozenset[int] = frozenset()
        self.bookmark = Bookmark(context=Context(), frames=())
        self._make = make
        self._way = way
        self._entries: list[Entry] = []

    def recall(self, stored: Iterable[Entry]) -> None:
        """Learn nothing."""

    def take(self, note: Note) -> tuple[Entry, ...]:
        """Make an entry of a note."""
        made = self._make(note)
        self._entries += [] if made is None else [made]
        return () if made is None else (made,)

    def take_act(self, act: Act) -> None:
        """Take no notice."""

    def follow(self, act: Act) -> None:
        """Take no notice."""

    def go_on(self, bookmark: Bookmark, shelf: Shelf) -> None:
        """Go on without knowing anything."""

    def way_of_reading(self, note: int) -> str:
        """Return what it was told to, else what no other has returned."""
        return f"{id(self)} at {note}" if self._way is None else self._way

    def as_read(self) -> dict[str, Entry]:
        """Return nothing."""
        return {}

    def born_in_order(self) -> tuple[str, ...]:
        """Return the ids of its entries."""
        return tuple(entry.id for entry in self._entries)

    def entries(self, *, include_void: bool = False) -> tuple[Entry, ...]:
        """Return its entries in the order of the notes; none is void."""
        del include_void
        return tuple(self._entries)
