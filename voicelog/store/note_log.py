"""The notes of a log: what was heard, when, and what has become of it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

from voicelog.domain.note import Note
from voicelog.store.brought import list_origins
from voicelog.store.failures import explained
from voicelog.store.reviewed_log import ReviewedLog
from voicelog.store.rows import row_to_note


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteState:
    """A note with what has become of it.

    Attributes:
        note: the note.
        struck: whether it was struck by voice.
        entries: the display numbers of the entries it stands behind, void ones left out.
    """

    note: Note
    struck: bool
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteTime:
    """When a note was taken, without its words.

    Attributes:
        number: its number.
        recording: the recording it was heard in, or None.
        start_s, end_s: where in it, in seconds, or None.
        recorded_at: the wall clock, ISO 8601, or None.
        struck: whether it was struck by voice.
    """

    number: int
    recording: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    recorded_at: str | None = None
    struck: bool = False


class NoteLog(ReviewedLog):
    """Reads notes."""

    def count_notes(self) -> int:
        """Return how many notes the log holds; the next note's number is one more."""
        return self._number("SELECT coalesce(max(number), 0) FROM notes")

    def iter_notes(self) -> Iterator[Note]:
        """Yield the notes in the order in which they were taken down."""
        for state in self.iter_note_states():
            yield state.note

    def iter_own_notes(self) -> Iterator[Note]:
        """Yield the notes that were taken down in this log, in their order.

        What came from another bench has been read there: its words mean what they meant among
        the notes that they stood among.
        """
        with explained(self.folder):
            brought = list_origins(self._database)
        for note in self.iter_notes():
            if note.number not in brought:
                yield note

    def iter_note_states(self) -> Iterator[NoteState]:
        """Yield every note with what has become of it, one at a time."""
        entries_of: dict[int, list[int]] = {}
        with explained(self.folder):
            behind = self._database.execute(
                "SELECT notes FROM entries WHERE status <> 'void' ORDER BY rank"
            )
            for number, (notes,) in enumerate(behind, start=1):
                for note in json.loads(notes):
                    entries_of.setdefault(note, []).append(number)
            struck = self._all_struck()
            words = groupby(
                self._database.query("SELECT * FROM words ORDER BY note, rank"),
                key=itemgetter("note"),
            )
            spoken, its_words = next(words, (None, iter(())))
            for row in self._database.query("SELECT * FROM notes ORDER BY number"):
                number = row["number"]
                note = row_to_note(row, its_words if spoken == number else ())
                if spoken == number:
                    spoken, its_words = next(words, (None, iter(())))
                yield NoteState(
                    note=note,
                    struck=number in struck,
                    entries=tuple(entries_of.get(number, ())),
                )

    def iter_note_times(self) -> Iterator[NoteTime]:
        """Yield when each note was taken, in the order of being taken down."""
        with explained(self.folder):
            for row in self._database.query(
                "SELECT number, recording, start_s, end_s, recorded_at, "
                "number IN (SELECT note FROM struck_notes) OR number IN "
                "(SELECT note FROM brought_notes WHERE struck) AS struck "
                "FROM notes ORDER BY number"
            ):
                yield NoteTime(**{**row, "struck": bool(row["struck"])})

    def read_texts(self, numbers: Iterable[int]) -> dict[int, str]:
        """Return what was heard in the notes of these numbers that the log has."""
        with explained(self.folder):
            return dict(
                self._database.execute(
                    "SELECT number, text FROM notes "
                    "WHERE number IN (SELECT value FROM json_each(?))",
                    [json.dumps(sorted(numbers))],
                )
            )

    def _all_struck(self) -> frozenset[int]:
        """Return the notes that were struck by voice, here or at another bench."""
        return self._struck().union(
            note for note, (_, _, is_struck) in list_origins(self._database).items() if is_struck
        )

    def _struck(self) -> frozenset[int]:
        return frozenset(row[0] for row in self._database.execute("SELECT note FROM struck_notes"))
