"""A log to read: what was heard, and how it is understood now."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from voicelog.domain.entry import Entry, Status
from voicelog.errors import SoundElsewhere, SoundRemoved
from voicelog.store.acceptance import Acceptance
from voicelog.store.brought import (
    Brought,
    Evidence,
    has_brought_notes,
    iter_revisions,
    list_brought,
    list_origins,
    list_taken_at,
)
from voicelog.store.by_volume import StoredVolumes
from voicelog.store.connection import connect_to_read
from voicelog.store.export_record import ExportedFile, ExportRecord
from voicelog.store.failures import explained
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME, require_log_folder
from voicelog.store.heard_ahead import HeardAhead, find_heard_ahead, iter_heard_ahead
from voicelog.store.kept_reading import KeptReading, StoredShelf, find_kept, is_any_otherwise
from voicelog.store.note_log import NoteLog
from voicelog.store.recording import Recording
from voicelog.store.selection import VolumeKey
from voicelog.store.sessions import Incident, Session, iter_incidents, iter_sessions


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrections:
    """What was changed after it was heard.

    Attributes:
        by_people: how many values reviewers changed, by field.
        by_reading: how many values came out differently when notes were read again.
    """

    by_people: tuple[tuple[str, int], ...] = ()
    by_reading: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What changed in a log from some moment on.

    Attributes:
        entries: the ids of the entries that changed, void ones too.
        volumes: the volumes they are in, and those they were moved out of.
    """

    entries: frozenset[str]
    volumes: frozenset[VolumeKey]


class Log(NoteLog):
    """One log folder, open for reading; nothing in it changes, and no writer is waited for.

    Use :meth:`open` in a ``with`` statement.
    """

    @classmethod
    def open(cls, folder: Path) -> Self:
        """Open a log that is there already.

        Raises:
            UsageError: there is no log at this place.
            StoreError: it can't be read.
        """
        require_log_folder(folder)
        with explained(folder):
            database = connect_to_read(folder / DATABASE_NAME)
        return cls(folder, database)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the log."""
        self._database.close()

    @property
    def audio_folder(self) -> Path:
        """The folder of the recordings."""
        return self.folder / AUDIO_NAME

    def facts(self) -> dict[str, Any]:
        """Return the facts kept about the log: ``uid``, ``begun_at``, ``made_by``, ..."""
        with explained(self.folder):
            rows = self._database.query("SELECT key, value FROM facts")
            return {row["key"]: json.loads(row["value"]) for row in rows}

    def find_kept_reading(self) -> KeptReading | None:
        """Return where reading has come to; None where nobody knows, or notes came since."""
        with explained(self.folder):
            kept = find_kept(self._database)
            if kept is None or self._number(
                "SELECT count(*) FROM notes WHERE number > ? "
                "AND number NOT IN (SELECT note FROM brought_notes)",
                [kept.note],
            ):
                return None
            return kept

    def is_any_read_otherwise(self, entries: Collection[str]) -> bool:
        """Whether the notes gave one of some entries otherwise than it was stored."""
        with explained(self.folder):
            return is_any_otherwise(self._database, entries)

    def shelf(self) -> StoredShelf:
        """Return the entries as the notes give them, for a logbook that goes on reading."""
        return StoredShelf(self._database)

    def last_act(self) -> int:
        """Return the number of the latest act of review; 0 before the first."""
        return self._number("SELECT coalesce(max(number), 0) FROM acts")

    def iter_evidence(self) -> Iterator[Evidence]:
        """Yield every note with where and when it was taken down."""
        uid = str(self.facts()["uid"])
        with explained(self.folder):
            brought = list_origins(self._database)
            taken_at = list_taken_at(self._database)
        for state in self.iter_note_states():
            number = state.note.number
            log, there, _ = brought.get(number, (uid, number, False))
            yield Evidence(
                note=state.note,
                taken_at=taken_at[number],
                log=log,
                number=there,
                struck=state.struck,
            )

    def list_brought(self) -> dict[str, dict[str, Brought]]:
        """Return the entries that bags have brought, as they came last, by log and id."""
        with explained(self.folder):
            return list_brought(self._database)

    def iter_revisions(self) -> Iterator[Mapping[str, Any]]:
        """Yield every change of a value, the earliest first, without numbers of this log."""
        with explained(self.folder):
            yield from iter_revisions(self._database)

    def iter_entries(self, *, include_void: bool = False) -> Iterator[tuple[int, Entry]]:
        """Yield display number and entry, in display order; void ones come last."""
        for stored in self.iter_stored(include_void=include_void):
            yield stored.number, stored.entry

    def volumes_one_by_one(self) -> StoredVolumes:
        """Return the volumes as they stand now, each to be read when it is needed."""
        return StoredVolumes(self.folder, self._database)

    @contextmanager
    def standing_still(self) -> Iterator[None]:
        """See the log as it is now until the end, whatever another process adds meanwhile."""
        with explained(self.folder):
            self._database.execute("BEGIN")
        try:
            yield
        finally:
            self._database.execute("ROLLBACK")

    def find_recording(self, sha256: str) -> Recording | None:
        """Return the recording with exactly these bytes, or None."""
        with explained(self.folder):
            rows = self._database.query(
                "SELECT * FROM recordings WHERE sha256 = ? OR file IN "
                "(SELECT file FROM fingerprints_before WHERE sha256 = ?)",
                [sha256, sha256],
            )
            return next((Recording(**row) for row in rows), None)

    def iter_recordings(self) -> Iterator[Recording]:
        """Yield the recordings in the order in which they were taken in."""
        with explained(self.folder):
            for row in self._database.query("SELECT * FROM recordings ORDER BY rowid"):
                yield Recording(**row)

    def find_heard_ahead(self, file: str) -> HeardAhead | None:
        """Return what was heard of a recording and waits to be read, or None."""
        with explained(self.folder):
            return find_heard_ahead(self._database, file)

    def iter_heard_ahead(self) -> Iterator[HeardAhead]:
        """Yield what was heard and waits to be read, a recording at a time."""
        with explained(self.folder):
            yield from iter_heard_ahead(self._database)

    def find_sound(self, file: str) -> Path:
        """Return where the sound of a recording lies; it may still be growing.

        Args:
            file: the recording, as notes name it.

        Raises:
            SoundRemoved: it was removed; the sentence says when and by which rule.
            SoundElsewhere: it stayed at another bench.
        """
        with explained(self.folder):
            removed = self._database.execute(
                "SELECT removed_at, removed_by FROM recordings "
                "WHERE file = ? AND removed_at IS NOT NULL",
                [file],
            ).fetchone()
        if removed is not None:
            raise SoundRemoved(file=file, removed_at=removed[0], rule=removed[1])
        path = self.audio_folder / file
        if not path.exists() and self._is_from_elsewhere(file):
            raise SoundElsewhere(file=file)
        return path

    def iter_sessions(self) -> Iterator[Session]:
        """Yield the sessions in the order in which they came into the log."""
        with explained(self.folder):
            yield from iter_sessions(self._database)

    def find_incidents(self, session: Session) -> tuple[Incident, ...]:
        """Return the gaps and pauses of a live session, and the clocks set in it, in order."""
        with explained(self.folder):
            return tuple(iter_incidents(self._database, session.id))

    def count_notes_by_recording(self) -> Counter[str]:
        """Return how many notes were heard in each recording, by its file."""
        with explained(self.folder):
            return Counter(
                dict(
                    self._database.execute(
                        "SELECT recording, count(*) FROM notes "
                        "WHERE recording IS NOT NULL GROUP BY recording"
                    )
                )
            )

    def count_statuses_by_recording(self) -> dict[str, Counter[Status]]:
        """Return the statuses of the entries that rest on each recording, by its file."""
        counted: dict[str, Counter[Status]] = {}
        with explained(self.folder):
            for file, status, count in self._database.execute(
                "SELECT notes.recording, entries.status, count(DISTINCT entries.id) "
                "FROM entries, json_each(entries.notes) AS note "
                "JOIN notes ON notes.number = note.value "
                "WHERE notes.recording IS NOT NULL GROUP BY notes.recording, entries.status"
            ):
                counted.setdefault(file, Counter())[Status(status)] = count
        return counted

    def last_change(self) -> str:
        """Return when an entry last changed; for an empty log, its beginning.

        ISO 8601 in UTC, to the millisecond: "2031-05-02T15:04:05.678Z".
        """
        with explained(self.folder):
            row = self._database.execute(
                "SELECT coalesce((SELECT max(at) FROM entry_changes), (SELECT "
                "strftime('%Y-%m-%dT%H:%M:%fZ', json_extract(value, '$')) FROM facts "
                "WHERE key = 'begun_at'))"
            ).fetchone()
            return str(row[0])

    def changes_since(self, moment: str) -> Changes:
        """Return what changed at or after a moment.

        Args:
            moment: ISO 8601 in UTC, as :meth:`last_change` gives it.
        """
        entries: set[str] = set()
        volumes: set[VolumeKey] = set()
        with explained(self.folder):
            for row in self._database.query(
                "SELECT id, accession, volume FROM entries "
                "JOIN entry_changes ON entry_changes.entry = entries.id WHERE at >= ?",
                [moment],
            ):
                entries.add(row["id"])
                volumes.add(VolumeKey(accession=row["accession"], volume=row["volume"]))
            for row in self._database.query(
                "SELECT field, json_extract(before, '$') AS was, accession, volume FROM revisions "
                "JOIN entries ON entries.id = revisions.entry "
                "WHERE field IN ('accession', 'volume') AND julianday(at) >= julianday(?)",
                [moment],
            ):
                now = VolumeKey(accession=row["accession"], volume=row["volume"])
                volumes.add(replace(now, **{row["field"]: row["was"]}))
        return Changes(entries=frozenset(entries), volumes=frozenset(volumes))

    def count_corrections(self) -> Corrections:
        """Return how many values were changed after they were first stored."""
        with explained(self.folder):
            by_people = self._database.execute(
                "SELECT field, count(*) FROM revisions WHERE act IS NOT NULL "
                "AND reason <> 'bring in' "
                "AND field NOT IN ('status', 'confidence', 'doubts', 'cautions') "
                "GROUP BY field ORDER BY field"
            ).fetchall()
            by_reading = self._number(
                "SELECT count(*) FROM revisions WHERE act IS NULL AND reason LIKE 'read again%'"
            )
        return Corrections(by_people=tuple(map(tuple, by_people)), by_reading=by_reading)

    def iter_exports(self) -> Iterator[ExportRecord]:
        """Yield what left the house, the earliest first."""
        with explained(self.folder):
            for row in self._database.query("SELECT * FROM exports ORDER BY number"):
                yield ExportRecord(
                    **{
                        **{key: value for key, value in row.items() if key != "number"},
                        "include_restricted": bool(row["include_restricted"]),
                        "include_unconfirmed": bool(row["include_unconfirmed"]),
                        "files": tuple(ExportedFile(**file) for file in json.loads(row["files"])),
                    }
                )

    def iter_acceptances(self) -> Iterator[Acceptance]:
        """Yield every acceptance of a finding in the order in which they were given."""
        with explained(self.folder):
            for row in self._database.query("SELECT * FROM acceptances ORDER BY number"):
                yield Acceptance(**{key: value for key, value in row.items() if key != "number"})

    def accepted_findings(self) -> dict[str, str]:
        """Return the reasons for which findings are accepted now, by the findings' ids."""
        reasons = {one.finding: one.reason for one in self.iter_acceptances()}
        return {finding: reason for finding, reason in reasons.items() if reason is not None}

    def _is_from_elsewhere(self, file: str) -> bool:
        with explained(self.folder):
            return has_brought_notes(self._database, file)
