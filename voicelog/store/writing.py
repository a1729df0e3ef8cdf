"""A log to write: one transaction for each note and what it changed."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from sqlite_utils import Database

from voicelog.domain.entry import Entry, Status
from voicelog.domain.note import Note
from voicelog.domain.shelf import VolumeKey
from voicelog.store.acceptance import Acceptance
from voicelog.store.act_recording import Author
from voicelog.store.connection import connect_to_write
from voicelog.store.display_ranks import (
    settle_all_ranks,
    settle_births,
    settle_ranks,
)
from voicelog.store.export_record import ExportRecord
from voicelog.store.failures import explained
from voicelog.store.folder import (
    AUDIO_NAME,
    DATABASE_NAME,
    finish_arrivals,
    make_log_folder,
    remove_new_database,
    remove_unfinished_copies,
    sync_names,
)
from voicelog.store.heard_ahead import HeardAhead, forget_heard_ahead, write_heard_ahead
from voicelog.store.intake import Intake
from voicelog.store.kept_reading import KeptReading, keep_next, keep_whole
from voicelog.store.lock import WriterLock
from voicelog.store.recording import Recording
from voicelog.store.redacting import Redactor
from voicelog.store.rows import (
    format_json,
    note_to_row,
    words_to_rows,
)
from voicelog.store.sessions import Incident, Session, insert_incidents, insert_session


@dataclass(frozen=True, slots=True, kw_only=True)
class Understanding:
    """How the notes of a log are understood at one moment.

    Attributes:
        changed: the entries that are new or differ from before, in their new form.
        order: after a reading of all notes, the ids of all entries, void ones too, in the order
            in which they came into being.
        struck: the numbers of the notes that were struck; of a single note, those that it has
            struck.
    """

    changed: tuple[Entry, ...]
    order: tuple[str, ...] = ()
    struck: frozenset[int] = frozenset()


def now_text() -> str:
    """Return this moment as ISO 8601 with the local zone, to the second."""
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


class WritableLog(Redactor):
    """One log folder, open for reading and writing by this process alone."""

    def __init__(self, folder: Path, database: Database, *, lock: WriterLock, made_by: str) -> None:
        super().__init__(folder, database)
        self._lock = lock
        self._made_by = made_by

    @classmethod
    def open_to_write(
        cls,
        folder: Path,
        *,
        made_by: str,
        facts: Mapping[str, Any] | None = None,
        wait_s: float = 0.0,
    ) -> Self:
        """Open a log to add to it, beginning it where there is none.

        Args:
            folder: the log's folder.
            made_by: this program and its version, kept with what it writes.
            facts: further facts to keep with a log that is begun here.
            wait_s: how long to wait for another process that writes to it.

        Raises:
            UsageError: the folder holds something else.
            LogBusy: another process writes to it.
            StoreError: it can't be written.
        """
        with explained(folder):
            is_new = make_log_folder(folder)
            lock = WriterLock(folder)
            lock.acquire(wait_s=wait_s)
            try:
                database = connect_to_write(folder / DATABASE_NAME)
                _write_facts(database, made_by=made_by, facts=facts or {})
                finish_arrivals(folder, _list_files(database))
                remove_unfinished_copies(folder)
                _finish_removals(database, folder)
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

    def begin_session(self, session: Session) -> None:
        """Write down a session, before any recording of it; one that is known stays as it is."""
        with self._transaction():
            insert_session(self._database, session)

    def add_incidents(self, session_id: str, incidents: Iterable[Incident]) -> None:
        """Write down what befell a session, from its beginning; what is known stays as it is."""
        with self._transaction():
            insert_incidents(self._database, session_id, incidents)

    def end_session(self, session_id: str, *, ended_at: str, broken_off: bool) -> None:
        """Write down when a session ended, and whether somebody ended it."""
        with self._transaction():
            self._database.execute(
                "UPDATE sessions SET ended_at = ?, broken_off = ? "
                "WHERE id = ? AND ended_at IS NULL",
                [ended_at, int(broken_off), session_id],
            )

    def add_recording(self, recording: Recording, *, session: Session | None = None) -> None:
        """Write down a recording whose file lies in ``audio/`` already, or is arriving there.

        Args:
            recording: the recording.
            session: its session, where that begins with it.
        """
        with self._transaction():
            if session is not None:
                insert_session(self._database, session)
            self._database.table("recordings").insert(asdict(recording))
        self.finish_arrivals()

    def finish_arrivals(self) -> None:
        """Give recordings that were written down while they arrived their names."""
        with explained(self.folder):
            finish_arrivals(self.folder, _list_files(self._database))

    def put_recording_right(self, recording: Recording) -> None:
        """Write down what is known of a recording again, in the place of what was left of it."""
        with self._transaction():
            self._database.table("recordings").insert(asdict(recording), replace=True)

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
        """Take back a recording in which nothing was said; its file and its session go too."""
        with self._transaction():
            forget_heard_ahead(self._database, file)
            self._database.execute("DELETE FROM recordings WHERE file = ?", [file])
            self._database.execute(
                "DELETE FROM sessions WHERE way = 'recording' "
                "AND id NOT IN (SELECT session FROM recordings WHERE session IS NOT NULL)"
            )
        with explained(self.folder):
            (self.audio_folder / file).unlink(missing_ok=True)

    def remove_sound(self, file: str, *, rule: str) -> None:
        """Remove the sound of a recording for good; that it was removed stays on record.

        The record comes first: should the process die before the file has gone, the next
        writer removes it.

        Args:
            file: the recording.
            rule: why it is removed, as the setting names it.
        """
        with self._transaction():
            self._database.execute(
                "UPDATE recordings SET removed_at = ?, removed_by = ? WHERE file = ?",
                [now_text(), rule, file],
            )
        with explained(self.folder):
            _finish_removals(self._database, self.folder)

    def keep_heard(self, heard: HeardAhead) -> None:
        """Keep what was heard of a recording until its turn to be read comes."""
        with self._transaction():
            write_heard_ahead(self._database, heard)

    def finish_recording(self, file: str) -> None:
        """Write down that a recording was heard to its end, and all of it was read."""
        with self._transaction():
            forget_heard_ahead(self._database, file)
            self._database.execute(
                "UPDATE recordings SET finished_at = ? WHERE file = ?", [now_text(), file]
            )

    def add_note(
        self,
        note: Note,
        understood: Understanding,
        *,
        heard_to_s: float | None = None,
        kept: KeptReading | None = None,
    ) -> None:
        """Store a note together with what it changed: all of it, or nothing.

        Args:
            note: the new note.
            understood: what the note has changed.
            heard_to_s: how far the note's recording has now been heard, in seconds.
            kept: where reading has come to with this note.
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
            self._write(understood.changed, at=taken_at, reason=f"note {note.number}")
            self._strike(understood.struck)
            if kept is not None:
                keep_next(self._database, kept, changed=[entry.id for entry in understood.changed])

    def write_understanding(
        self, understood: Understanding, *, reason: str, kept: KeptReading | None = None
    ) -> int:
        """Bring the entries in line with a fresh reading of all notes.

        Entries that the fresh reading no longer gives become void; nothing is removed.

        Args:
            understood: what all notes give.
            reason: why they were read again.
            kept: where reading has come to, to go on from the next time.

        Returns:
            how many entries differ from what was stored.
        """
        stored = {entry.id: entry for _, entry in self.iter_entries(include_void=True)}
        changed = [entry for entry in understood.changed if stored.get(entry.id) != entry]
        given = frozenset(understood.order)
        gone = [
            entry
            for entry in stored.values()
            if entry.id not in given and entry.status is not Status.VOID
        ]
        with self._transaction():
            at = now_text()
            for entry in gone:
                author = Author(by=self._made_by, at=at, reason=reason)
                self._revise(entry.id, "status", entry.status, Status.VOID, author=author)
                self._database.execute(
                    "UPDATE entries SET status = 'void', version = version + 1 WHERE id = ?",
                    [entry.id],
                )
            self._write(changed, at=at, reason=reason)
            if settle_births(self._database, understood.order):
                settle_all_ranks(self._database)
            before = self._struck()
            self._strike(understood.struck - before)
            for number in before - understood.struck:
                self._database.execute("DELETE FROM struck_notes WHERE note = ?", [number])
            if kept is not None:
                keep_whole(self._database, kept)
        return len(changed) + len(gone)

    @contextmanager
    def taking_in(self) -> Iterator[Intake]:
        """Take in what another bench logged: all that is done meanwhile, or nothing of it."""
        with self._transaction():
            yield Intake(self._database)

    @contextmanager
    def recording_export(self, record: ExportRecord) -> Iterator[None]:
        """Write down an export, and keep that only if what is done meanwhile succeeds."""
        row = {**asdict(record), "files": format_json([asdict(file) for file in record.files])}
        with self._transaction():
            self._database.table("exports").insert(row)
            yield

    def keep_question(self, question: Mapping[str, Any] | None) -> None:
        """Keep which question is open at the bench, for whoever goes on after a crash.

        Args:
            question: what is known of it, or None once none is open.
        """
        with self._transaction():
            self._database.execute(
                "INSERT OR REPLACE INTO facts VALUES ('question', ?)", [format_json(question)]
            )

    def add_acceptances(self, acceptances: Iterable[Acceptance]) -> None:
        """Write down that findings were accepted, or are no longer: all of them, or none."""
        with self._transaction():
            self._database.table("acceptances").insert_all(map(asdict, acceptances))

    def _write(self, changed: Iterable[Entry], *, at: str, reason: str) -> None:
        author = Author(by=self._made_by, at=at, reason=reason)
        moved: list[VolumeKey] = []
        for entry in changed:
            before = self._database.execute(
                "SELECT accession, volume, leaf, side, item FROM entries WHERE id = ?", [entry.id]
            ).fetchone()
            self._write_entry(entry, author=author)
            if before != (entry.accession, entry.volume, entry.leaf, entry.side, entry.item):
                moved += [(entry.accession, entry.volume), *([before[:2]] if before else [])]
        settle_ranks(self._database, moved)

    def _strike(self, notes: Iterable[int]) -> None:
        for number in notes:
            self._database.execute("INSERT OR IGNORE INTO struck_notes VALUES (?)", [number])


def _list_files(database: Database) -> frozenset[str]:
    return frozenset(file for (file,) in database.execute("SELECT file FROM recordings"))


def _finish_removals(database: Database, folder: Path) -> None:
    """Make sure that no sound is there that the log says was removed."""
    removed = database.execute("SELECT file FROM recordings WHERE removed_at IS NOT NULL")
    still_there = [path for (file,) in removed if (path := folder / AUDIO_NAME / file).exists()]
    for path in still_there:
        path.unlink()
    if still_there:
        sync_names(folder / AUDIO_NAME)


def _write_facts(database: Database, *, made_by: str, facts: Mapping[str, Any]) -> None:
    known = {
        key: json.loads(value) for key, value in database.execute("SELECT key, value FROM facts")
    }
    begun = {"uid": str(uuid.uuid4()), "begun_at": now_text(), "begun_by": made_by}
    # The one fact that changes: which version wrote to the log last.
    wanted = {**begun, **facts, **known, "made_by": made_by}
    if wanted == known:
        return
    with database.atomic():
        for key, value in wanted.items():
            database.execute(
                "INSERT OR REPLACE INTO facts VALUES (?, ?)", [key, format_json(value)]
            )
