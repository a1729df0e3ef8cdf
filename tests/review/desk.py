"""Somebody who says notes into a log, and somebody who reviews it, for tests."""

from __future__ import annotations

from pathlib import Path

from voicelog.domain.act import Seen
from voicelog.domain.entry import Entry
from voicelog.domain.utterance import Utterance
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.review.reviewer import Reviewer
from voicelog.session.rereading import Rereading, reread
from voicelog.session.scribe import Scribe
from voicelog.store.entry_log import StoredEntry
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog

MADE_BY = "voicelog test"


class Desk:
    """A log with its handler and its reviewer.

    Args:
        folder: the log's folder; the log is begun by the first note.
        reader: reads the notes and what is typed.
        by: the reviewer's name.
    """

    def __init__(self, folder: Path, reader: Reader, *, by: str = "Ida Marsh") -> None:
        self.folder = folder
        self.reader = reader
        self.reviewer = Reviewer(folder, reader, by=by, made_by=MADE_BY)
        self._notes = 0

    def another_reviewer(self, by: str) -> Reviewer:
        """Return a second person at the same log."""
        return Reviewer(self.folder, self.reader, by=by, made_by=MADE_BY)

    def say(self, *texts: str) -> Rereading:
        """Take notes down, as a bench does that was just opened."""
        with WritableLog.open_to_write(self.folder, made_by=MADE_BY) as log:
            scribe = Scribe(log, Logbook(self.reader), new_uid=self._new_uid)
            rereading = scribe.catch_up(reason="read again")
            for text in texts:
                scribe.take_down(Utterance(text=text))
        return rereading

    def reread(self) -> Rereading:
        """Return what a reading of all notes would change now."""
        with Log.open(self.folder) as log:
            return reread(log, Logbook(self.reader))

    def entries(self, *, include_void: bool = False) -> list[Entry]:
        """Return all entries in display order."""
        with Log.open(self.folder) as log:
            return [entry for _, entry in log.iter_entries(include_void=include_void)]

    def the(self, item_type: str) -> StoredEntry:
        """Return the one entry with this item type, void or not."""
        with Log.open(self.folder) as log:
            (found,) = (
                stored
                for stored in log.iter_stored(include_void=True)
                if item_type in stored.entry.item_type
            )
        return found

    def see(self, item_type: str) -> Seen:
        """Return that entry as it is seen just now."""
        return self.the(item_type).seen

    def _new_uid(self) -> str:
        self._notes += 1
        return f"note-{self._notes}"
