"""A log to write: one transaction for each note and what it changed."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from sqlite_utils import Database

from voicelog.domain.act import Act, ActKind
from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import Entry, Kind, Side, Status
from voicelog.domain.note import Note
from voicelog.domain.plain_values import plain_value
from voicelog.store.acceptance import Acceptance
from voicelog.store.act_rows import Change, act_to_row, change_to_row
from voicelog.store.connection import connect_to_write
from voicelog.store.export_record import ExportRecord
from voicelog.store.failures import explained
from voicelog.store.folder import (
    AUDIO_NAME,
    DATABASE_NAME,
    make_log_folder,
    remove_new_database,
    remove_unfinished_copies,
    sync_names,
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
    row_to_entry,
    words_to_rows,
)
from voicelog.store.sessions import Incident, Session, insert_incidents, insert_session


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Author:
    """Whose change of an entry it is.

    Attributes:
        by: a person, or this program and its version.
        at: when, ISO 8601 with zone.
        reason: why, in a few words.
        act: the number of the act of review, or None.
    """

    by: str
    at: str
    reason: str
    act: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ranked:
    id: str
    rank: int
    kind: Kind
    accession: str | None
    volume: str | None
    leaf: str | None
    side: Side | None
    item: int | None


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
                remove_unfinished_copies(folder)
                database = connect_to_write(folder / DATABASE_NAME)
                _write_facts(database, made_by=made_by, facts=facts or {})
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
        """Write down a recording whose file lies in ``audio/`` already.

        Args:
            recording: the recording.
            session: its session, where that begins with it.
        """
        with self._transaction():
            if session is not None:
                insert_session(self._database, session)
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
        """Take back a recording in which nothing was said; its file and its session go too."""
        with self._transaction():
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
                author = Author(by=self._made_by, at=at, reason=reason)
                self._revise(entry.id, "status", entry.status, Status.VOID, author=author)
                self._database.execute(
                    "UPDATE entries SET status = 'void', version = version + 1 WHERE id = ?",
                    [entry.id],
                )
            self._write(replace(understood, changed=tuple(changed)), at=at, reason=reason)
        return len(changed) + len(gone)

    def record_act(self, act: Act, changes: Sequence[Change]) -> tuple[int, tuple[int, ...]]:
        """Store an act of review together with what it changed: all of it, or nothing.

        Args:
            act: the act; its number and the note it came after are found here.
            changes: the entries it changed, in the order of its decisions.

        Returns:
            the act's number, and the version that each changed entry has now.
        """
        versions: list[int] = []
        with self._transaction():
            row = act_to_row(act, after_note=self.count_notes())
            table = self._database.table("acts")
            number = int(table.insert(row).last_rowid or 0)
            author = Author(by=act.by, at=act.at, reason=str(act.kind), act=number)
            for rank, change in enumerate(changes):
                entry = change.after
                version = self._write_entry(entry, rank=None, author=author)
                versions.append(version)
                self._database.table("decisions").insert(
                    change_to_row(change, act=number, rank=rank, version=version)
                )
            self._sign(act, number)
            self._sample(act, number)
            self._judge(act, number, changes)
            self._teach(act, number)
            if any(_is_shown_elsewhere(change) for change in changes):
                self._settle_order()
        return number, tuple(versions)

    def _sign(self, act: Act, number: int) -> None:
        """Write down that an act signs a volume off, or unlocks it."""
        volume = [act.details.get("accession"), act.details.get("volume")]
        if act.kind is ActKind.SIGN_OFF:
            self._database.execute(
                'INSERT INTO signatures (act, accession, volume, "by", at) VALUES (?, ?, ?, ?, ?)',
                [number, *volume, act.by, act.at],
            )
        elif act.kind is ActKind.UNLOCK:
            self._database.execute(
                "UPDATE signatures SET unlocked_by = ?, unlocked_at = ?, unlocked_why = ? "
                "WHERE accession IS ? AND volume IS ? AND unlocked_by IS NULL",
                [act.by, act.at, act.details.get("why"), *volume],
            )

    def _sample(self, act: Act, number: int) -> None:
        """Write down the sample that an act has drawn."""
        if act.kind is not ActKind.DRAW:
            return
        facts = [act.details[name] for name in ("percent", "seed", "drawn_from")]
        self._database.execute("INSERT INTO samples VALUES (?, ?, ?, ?)", [number, *facts])
        for entry in act.details["entries"]:
            self._database.execute(
                "INSERT INTO sampled_entries (entry, sample) VALUES (?, ?)", [entry, number]
            )

    def _judge(self, act: Act, number: int, changes: Sequence[Change]) -> None:
        """Write down what an act says about entries of a blind sample; the first act counts."""
        if act.undoes is not None:
            self._database.execute(
                "UPDATE sampled_entries SET verdict = NULL, fields = '[]', judged_in = NULL "
                "WHERE judged_in = ?",
                [act.undoes],
            )
            return
        for change in changes:
            wrong = _find_corrected(change)
            is_confirmed = change.after.status is Status.CONFIRMED
            if wrong or is_confirmed:
                self._database.execute(
                    "UPDATE sampled_entries SET verdict = ?, fields = ?, judged_in = ? "
                    "WHERE entry = ? AND verdict IS NULL",
                    ["wrong" if wrong else "right", format_json(wrong), number, change.after.id],
                )

    def _teach(self, act: Act, number: int) -> None:
        """Write down what an act teaches, or that it takes a lesson back."""
        last = self.count_notes()
        if act.kind is ActKind.LEARN:
            facts = [act.details[name] for name in ("heard", "meant", "field")]
            self._database.execute(
                "INSERT INTO lessons (heard, meant, field, examples, from_note, learnt_in) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                [*facts, format_json(act.details["examples"]), last + 1, number],
            )
        elif act.kind is ActKind.FORGET:
            self._database.execute(
                "UPDATE lessons SET until_note = ? WHERE number = ? AND until_note IS NULL",
                [last, act.details["lesson"]],
            )
        elif act.kind is ActKind.UNDO:
            self._database.execute(
                "UPDATE lessons SET until_note = ? WHERE learnt_in = ? AND until_note IS NULL",
                [last, act.undoes],
            )

    def _settle_order(self) -> None:
        """Bring the ranks in line with the places of the entries."""
        rows = [
            _Ranked(
                id=id_,
                rank=rank,
                kind=Kind(kind),
                accession=accession,
                volume=volume,
                leaf=leaf,
                side=None if side is None else Side(side),
                item=item,
            )
            for id_, rank, kind, accession, volume, leaf, side, item in self._database.execute(
                "SELECT id, rank, kind, accession, volume, leaf, side, item "
                "FROM entries ORDER BY rowid"
            )
        ]
        for wanted, row in enumerate(in_display_order(rows)):
            if row.rank != wanted:
                self._database.execute("UPDATE entries SET rank = ? WHERE id = ?", [wanted, row.id])

    @contextmanager
    def recording_export(self, record: ExportRecord) -> Iterator[None]:
        """Write down an export, and keep that only if what is done meanwhile succeeds."""
        row = {**asdict(record), "files": format_json([asdict(file) for file in record.files])}
        with self._transaction():
            self._database.table("exports").insert(row)
            yield

    def add_acceptances(self, acceptances: Iterable[Acceptance]) -> None:
        """Write down that findings were accepted, or are no longer: all of them, or none."""
        with self._transaction():
            self._database.table("acceptances").insert_all(map(asdict, acceptances))

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with explained(self.folder), self._database.atomic():
            yield

    def _write(self, understood: Understanding, *, at: str, reason: str) -> None:
        ranks = {id_: rank for rank, id_ in enumerate(understood.order)}
        author = Author(by=self._made_by, at=at, reason=reason)
        for entry in understood.changed:
            self._write_entry(entry, rank=ranks[entry.id], author=author)
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

    def _write_entry(self, entry: Entry, *, rank: int | None, author: Author) -> int:
        """Write an entry and what changed in it; return the version that it has now.

        Args:
            entry: the entry.
            rank: its place in the display order; None to leave it, or to put a new one last.
            author: whose change it is.
        """
        row = entry_to_row(entry)
        table = self._database.table("entries")
        stored = next(
            iter(self._database.query("SELECT * FROM entries WHERE id = ?", [entry.id])), None
        )
        if stored is None:
            last = self._number("SELECT coalesce(max(rank), -1) FROM entries")
            version = 1
            table.insert({**row, "rank": last + 1 if rank is None else rank, "version": version})
        else:
            before = row_to_entry(stored, {})
            for field in ENTRY_FIELDS:
                old, new = getattr(before, field), getattr(entry, field)
                if old != new:
                    self._revise(entry.id, field, old, new, author=author)
            version = stored["version"] + 1
            place = stored["rank"] if rank is None else rank
            table.update(entry.id, {**row, "rank": place, "version": version})
        self._database.execute("DELETE FROM field_values WHERE entry = ?", [entry.id])
        self._database.table("field_values").insert_all(origins_to_rows(entry))
        return version

    def _revise(
        self, entry_id: str, field: str, before: Any, after: Any, *, author: Author
    ) -> None:
        self._database.table("revisions").insert(
            {
                "entry": entry_id,
                "field": field,
                "before": format_json(plain_value(before)),
                "after": format_json(plain_value(after)),
                "by": author.by,
                "at": author.at,
                "reason": author.reason,
                "act": author.act,
            }
        )


# What changes along with other entries or other values says nothing about the reading.
_NOT_READ = frozenset(
    {"item", "mark", "confidence", "doubts", "cautions", "access", "notes", "relations", "kind"}
)


def _find_corrected(change: Change) -> list[str]:
    """Return the fields in which a person found an entry wrong."""
    if change.before is None:
        return []
    if change.after.status is Status.VOID:
        return ["status"]
    return [
        name
        for name in change.decision.values
        if name not in _NOT_READ
        and name != "status"
        and getattr(change.before, name) != getattr(change.after, name)
    ]


def _is_shown_elsewhere(change: Change) -> bool:
    """Whether an entry is new, or is shown in another place than before."""
    before, after = change.before, change.after
    return before is None or any(
        getattr(before, name) != getattr(after, name)
        for name in ("accession", "volume", "leaf", "side", "item")
    )


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
