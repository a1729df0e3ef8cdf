"""A log to write: one transaction for each note and what it changed."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from sqlite_utils import Database

from voicelog.domain.entry import Entry, Status
from voicelog.domain.note import Note
from voicelog.store.connection import connect_to_write
from voicelog.store.export_record import ExportRecord
from voicelog.store.failures import explained
from voicelog.store.folder import (
    DATABASE_NAME,
    make_log_folder,
    remove_new_database,
    remove_unfinished_copies,
)
from voicelog.store.lock import WriterLock
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.rows import (
    ENTRY_FIELDS,
    entry_to_row,
    format_json,
    note_to_row,
    origins_to_rows,
    plain_value,
    row_to_entry,
    words_to_rows,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Understanding:
    """How the notes of a log are understood at one moment.

    Attributes:
        changed: the entries that are new or differ from before, in their new form.
        order: the ids of all entries, void ones too, in display order.
        struck: the numbers of the notes that were struck.
    """

    changed: tuple[Entry, ...]
    order: tuple[str, ...]
    struck: frozenset[int]


def now_text() -> str:
    """Return this moment as ISO 8601 with the local zone, to the second."""
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


class WritableLog(Log):
    """One log folder, open for reading and writing by this process alone."""

    def __init__(self, folder: Path, database: Database, *, lock: WriterLock, made_by: str) -> None:
        super().__init__(folder, database)
        self._lock = lock
        self._made_by = made_by

    @classmethod
    def open_to_write(
        cls, folder: Path, *, made_by: str, facts: Mapping[str, Any] | None = None
    ) -> Self:
        """Open a log to add to it, beginning it where there is none.

        Args:
            folder: the log's folder.
            made_by: this program and its version, kept with what it writes.
            facts: further facts to keep with a log that is begun here.

        Raises:
            UsageError: the folder holds something else.
            LogBusy: another process writes to it.
            StoreError: it can't be written.
        """
        with explained(folder):
            is_new = make_log_folder(folder)
            lock = WriterLock(folder)
            lock.acquire()
            try:
                remove_unfinished_copies(folder)
                database = connect_to_write(folder / DATABASE_NAME)
                _write_facts(database, made_by=made_by, facts=facts or {})
            except BaseException:
                if is_new:
                    remove_new_database(folder)
                lock.release()
                raise
        return cls(folder, database, lock=lock, made_by=made_by)

    def close(self) -> None:
        """Close the log and let the next writer in."""
        try:
            super().close()
        finally:
            self._lock.release()

    def add_recording(self, recording: Recording) -> None:
        """Write down a recording whose file lies in ``audio/`` already."""
        with self._transaction():
            self._database.table("recordings").insert(asdict(recording))

    def seal_recording(self, recording: Recording) -> None:
        """Write down what a recording came to that was put in while it was being made."""
        with self._transaction():
            self._database.execute(
                "UPDATE recordings SET sha256 = ?, size_bytes = ?, duration_s = ? "
                "WHERE file = ? AND sha256 = ''",
                [
                    recording.sha256,
                    recording.size_bytes,
                    recording.duration_s,
                    recording.file,
                ],
            )

    def forget_recording(self, file: str) -> None:
        """Take back a recording in which nothing was said; its file goes too."""
        with self._transaction():
            self._database.execute("DELETE FROM recordings WHERE file = ?", [file])
        with explained(self.folder):
            (self.audio_folder / file).unlink(missing_ok=True)

    def finish_recording(self, file: str) -> None:
        """Write down that a recording was heard to its end."""
        with self._transaction():
            self._database.execute(
                "UPDATE recordings SET finished_at = ? WHERE file = ?", [now_text(), file]
            )

    def add_note(
        self, note: Note, understood: Understanding, *, heard_to_s: float | None = None
    ) -> None:
        """Store a note together with what it changed: all of it, or nothing.

        Args:
            note: the new note.
            understood: the log's understanding once the note was read.
            heard_to_s: how far the note's recording has now been heard, in seconds.
        """
        taken_at = now_text()
        with self._transaction():
            self._database.table("notes").insert(note_to_row(note, taken_at=taken_at))
            self._database.table("words").insert_all(words_to_rows(note))
            if heard_to_s is not None:
                self._database.execute(
                    "UPDATE recordings SET heard_to_s = ? WHERE file = ?",
                    [heard_to_s, note.recording],
                )
            self._write(understood, at=taken_at, reason=f"note {note.number}")

    def write_understanding(self, understood: Understanding, *, reason: str) -> int:
        """Bring the entries in line with a fresh reading of all notes.

        Entries that the fresh reading no longer gives become void; nothing is removed.

        Returns:
            how many entries differ from what was stored.
        """
        stored = {entry.id: entry for _, entry in self.iter_entries(include_void=True)}
        changed = [entry for entry in understood.changed if stored.get(entry.id) != entry]
        gone = [
            entry
            for entry in stored.values()
            if entry.id not in understood.order and entry.status is not Status.VOID
        ]
        struck_before = self._struck()
        if not changed and not gone and understood.struck == struck_before:
            return 0
        with self._transaction():
            at = now_text()
            for entry in gone:
                self._revise(entry.id, "status", str(entry.status), "void", at=at, reason=reason)
                self._database.execute(
                    "UPDATE entries SET status = 'void' WHERE id = ?", [entry.id]
                )
            self._write(replace(understood, changed=tuple(changed)), at=at, reason=reason)
        return len(changed) + len(gone)

    @contextmanager
    def recording_export(self, record: ExportRecord) -> Iterator[None]:
        """Write down an export, and keep that only if what is done meanwhile succeeds."""
        row = {**asdict(record), "files": format_json([asdict(file) for file in record.files])}
        with self._transaction():
            self._database.table("exports").insert(row)
            yield

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with explained(self.folder), self._database.atomic():
            yield

    def _write(self, understood: Understanding, *, at: str, reason: str) -> None:
        ranks = {id_: rank for rank, id_ in enumerate(understood.order)}
        for entry in understood.changed:
            self._write_entry(entry, rank=ranks[entry.id], at=at, reason=reason)
        # Entries that a later reading no longer gave stay in the log, void, behind the rest.
        stored = list(self._database.execute("SELECT id, rank FROM entries ORDER BY rank"))
        for id_, rank in stored:
            wanted = ranks.setdefault(id_, len(ranks))
            if wanted != rank:
                self._database.execute("UPDATE entries SET rank = ? WHERE id = ?", [wanted, id_])
        before = self._struck()
        for number in understood.struck - before:
            self._database.execute("INSERT INTO struck_notes VALUES (?)", [number])
        for number in before - understood.struck:
            self._database.execute("DELETE FROM struck_notes WHERE note = ?", [number])

    def _write_entry(self, entry: Entry, *, rank: int, at: str, reason: str) -> None:
        row = entry_to_row(entry)
        table = self._database.table("entries")
        stored = next(
            iter(self._database.query("SELECT * FROM entries WHERE id = ?", [entry.id])), None
        )
        if stored is None:
            table.insert({**row, "rank": rank})
        else:
            before = row_to_entry(stored, {})
            for field in ENTRY_FIELDS:
                old, new = getattr(before, field), getattr(entry, field)
                if old != new:
                    self._revise(
                        entry.id, field, plain_value(old), plain_value(new), at=at, reason=reason
                    )
            table.update(entry.id, {**row, "rank": rank})
        self._database.execute("DELETE FROM field_values WHERE entry = ?", [entry.id])
        self._database.table("field_values").insert_all(origins_to_rows(entry))

    def _revise(
        self, entry_id: str, field: str, before: Any, after: Any, *, at: str, reason: str
    ) -> None:
        self._database.table("revisions").insert(
            {
                "entry": entry_id,
                "field": field,
                "before": format_json(before),
                "after": format_json(after),
                "by": self._made_by,
                "at": at,
                "reason": reason,
            }
        )


def _write_facts(database: Database, *, made_by: str, facts: Mapping[str, Any]) -> None:
    begun = {"uid": str(uuid.uuid4()), "begun_at": now_text(), "begun_by": made_by}
    with database.atomic():
        for key, value in {**begun, **facts}.items():
            database.execute("INSERT OR IGNORE INTO facts VALUES (?, ?)", [key, format_json(value)])
        # The one fact that changes: which version wrote to the log last.
        database.execute(
            "INSERT OR REPLACE INTO facts VALUES ('made_by', ?)", [format_json(made_by)]
        )
