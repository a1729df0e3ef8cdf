"""Where a reviewer sits: the log's folder, opened for writing only while an act is done."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from voicelog.errors import ReviewError
from voicelog.extraction.reader import Reader
from voicelog.review.acting import Acting, Author
from voicelog.store.entry_log import StoredEntry
from voicelog.store.folder import require_log_folder
from voicelog.store.log import Log
from voicelog.store.reviewed_log import HistoryLine
from voicelog.store.writing import WritableLog

_WAIT_FOR_OTHERS_S = 2.0
"""Another reviewer's act is over long before; a live session is not waited for longer."""


class Seat:
    """One person's place at one log.

    Args:
        folder: the log's folder.
        reader: reads what is typed, with the vocabulary and options of the log.
        by: the reviewer's name; it stands in the history.
        made_by: this program and its version.
        session: what an undo reaches back over; a new one by default.
    """

    def __init__(
        self, folder: Path, reader: Reader, *, by: str, made_by: str, session: str | None = None
    ) -> None:
        self.folder = folder
        self.reader = reader
        self.author = Author(by=by, session=session or str(uuid.uuid4()))
        self._made_by = made_by

    def read(self, entry: str) -> StoredEntry:
        """Return an entry as it is now, with its number and version.

        Raises:
            ReviewError: there is no such entry.
        """
        with Log.open(self.folder) as log:
            stored = log.find_entry(entry)
        if stored is None:
            raise ReviewError(f"There is no entry {entry} in the log; load the page again.")
        return stored

    def history(self, entry: str | None = None) -> tuple[HistoryLine, ...]:
        """Return every change of a value, the latest first.

        Args:
            entry: the entry whose history is asked for; None for the whole log.
        """
        with Log.open(self.folder) as log:
            return tuple(log.iter_history(entry=entry))

    @contextmanager
    def open(self) -> Iterator[WritableLog]:
        """Open the log for writing; another reviewer's act is waited for.

        Raises:
            UsageError: there is no log.
            LogBusy: a live session or another program writes to it.
            StoreError: it can't be written.
        """
        require_log_folder(self.folder)
        with WritableLog.open_to_write(
            self.folder, made_by=self._made_by, wait_s=_WAIT_FOR_OTHERS_S
        ) as log:
            yield log

    @contextmanager
    def acting(self) -> Iterator[Acting]:
        """Open the log for one act."""
        with self.open() as log:
            yield Acting(
                log,
                self.reader.vocabulary,
                self.author,
                query_below=self.reader.options.query_below,
            )
