"""What came from another bench: whose notes they were, and as what its entries came."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlite_utils import Database

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.store.act_rows import parse_entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """A note with what else the log keeps of its taking down.

    Attributes:
        note: the note.
        taken_at: wall clock when it was stored, ISO 8601 with zone.
        log: uid of the log in which it was taken down.
        number: its number there.
        struck: whether it was struck by voice there.
    """

    note: Note
    taken_at: str
    log: str
    number: int
    struck: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """An entry as a bag has brought it.

    Attributes:
        entry: as it was at the other bench then.
        into: id of the entry here that it was taken into, or None.
    """

    entry: Entry
    into: str | None = None


def list_origins(database: Database) -> dict[int, tuple[str, int, bool]]:
    """Return for each note of another bench its log, its number there, and whether struck."""
    return {
        note: (log, number, bool(struck))
        for note, log, number, struck in database.execute(
            "SELECT note, log, number, struck FROM brought_notes"
        )
    }


def has_brought_notes(database: Database, recording: str) -> bool:
    """Say whether notes of a recording came from another bench."""
    found = database.execute(
        "SELECT 1 FROM notes JOIN brought_notes ON note = notes.number WHERE recording = ? LIMIT 1",
        [recording],
    )
    return found.fetchone() is not None


def list_taken_at(database: Database) -> dict[int, str]:
    """Return when each note was stored, by its number."""
    return dict(database.execute("SELECT number, taken_at FROM notes").fetchall())


def list_brought(database: Database) -> dict[str, dict[str, Brought]]:
    """Return the entries that bags have brought, as they came last, by log and id."""
    found: dict[str, dict[str, Brought]] = {}
    for id_, log, text, into in database.execute(
        'SELECT entry, log, content, "into" FROM brought_entries'
    ):
        brought = Brought(entry=parse_entry(json.loads(text)), into=into)
        found.setdefault(log, {})[id_] = brought
    return found


def iter_revisions(database: Database) -> Iterator[Mapping[str, Any]]:
    """Yield every change of a value, as its row has it, without numbers of this log's own."""
    yield from database.query(
        'SELECT entry, field, before, after, "by", at, reason FROM revisions ORDER BY id'
    )
