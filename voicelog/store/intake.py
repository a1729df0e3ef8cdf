"""Taking in what another bench logged, in the one transaction that all of it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from sqlite_utils import Database

from voicelog.store.act_rows import plain_entry
from voicelog.store.brought import Brought, Evidence
from voicelog.store.recording import Recording
from voicelog.store.rows import format_json, note_to_row, words_to_rows
from voicelog.store.sessions import Incident, Session, insert_incidents, insert_session


class Intake:
    """Writes what comes from another bench; made by ``WritableLog.taking_in``."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add_session(self, session: Session, incidents: Iterable[Incident]) -> None:
        """Write a session of the other bench down, unless the log knows it."""
        insert_session(self._database, session)
        insert_incidents(self._database, session.id, incidents)

    def add_recording(self, recording: Recording) -> None:
        """Write a recording of the other bench down."""
        self._database.table("recordings").insert(asdict(recording))

    def add_notes(self, notes: Iterable[Evidence]) -> None:
        """Write notes of the other bench down; they have got numbers of this log."""
        for evidence in notes:
            note = evidence.note
            self._database.table("notes").insert(note_to_row(note, taken_at=evidence.taken_at))
            self._database.table("words").insert_all(words_to_rows(note))
            self._database.table("brought_notes").insert(
                {
                    "note": note.number,
                    "log": evidence.log,
                    "number": evidence.number,
                    "struck": int(evidence.struck),
                }
            )

    def add_revisions(self, revisions: Iterable[Mapping[str, Any]]) -> None:
        """Add to the history of entries what the other bench has of it, each change once."""
        for revision in revisions:
            names = ("entry", "field", "before", "after", "by", "at", "reason")
            values = [revision[name] for name in names]
            self._database.execute(
                'INSERT INTO revisions (entry, field, before, after, "by", at, reason) '
                "SELECT ?, ?, ?, ?, ?, ?, ? WHERE NOT EXISTS (SELECT 1 FROM revisions WHERE "
                'entry = ? AND field = ? AND before = ? AND after = ? AND "by" = ? AND at = ?)',
                [*values, *values[:6]],
            )

    def remember(self, log: str, brought: Iterable[Brought]) -> None:
        """Remember as what the entries of a log came, to tell later what has changed there."""
        for one in brought:
            self._database.execute(
                "INSERT OR REPLACE INTO brought_entries VALUES (?, ?, ?, ?)",
                [one.entry.id, log, format_json(plain_entry(one.entry)), one.into],
            )
