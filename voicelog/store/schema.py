"""The tables of a log, and the small named steps that made them.

A step that was ever released is never changed; a new need gets a new step. Each step
and the record of it are one transaction, so a log is never between two versions.
"""

from __future__ import annotations

from typing import Protocol

from sqlite_utils import Database, Migrations

from voicelog.store.guards import forbid as _forbid
from voicelog.store.order_schema import m023_large_logs, m025_facet_counts
from voicelog.store.review_schema import (
    m007_acts,
    m008_signatures,
    m009_samples,
    m010_lessons,
    m011_redactions,
    m012_redacted_acceptances,
)

# "vlog" in ASCII: lets us, and the `file` command, tell a log from any other SQLite
# file. https://www.sqlite.org/pragma.html#pragma_application_id
APPLICATION_ID = 0x766C6F67


EARLIER_STAMPS = ("strftime('%Y-%m-%dT%H:%M:%SZ')", "strftime('%Y-%m-%dT%H:%M:%fZ')")
"""How logs from before the step ``m022_entry_stamps`` may say when an entry changed."""

STAMP = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"


class Step(Protocol):
    """One change of the tables, known in the log by its name."""

    __name__: str

    def __call__(self, db: Database, /) -> None:
        """Make the change."""


def make_migrations() -> Migrations:
    """Return every step from an empty file to today's tables, in order."""
    migrations = Migrations("voicelog")
    for step in steps():
        migrations()(step)
    return migrations


def steps() -> tuple[Step, ...]:
    """Return the steps in their order; a log that knows others was made later than this."""
    return (
        m001_facts,
        m002_recordings,
        m003_notes,
        m004_entries,
        m005_revisions,
        m007_acts,
        m008_signatures,
        m009_samples,
        m010_lessons,
        m011_redactions,
        m013_acceptances,
        m012_redacted_acceptances,
        m015_entry_changes,
        m016_exports,
        m017_sessions,
        m018_questions,
        m021_brought,
        m022_entry_stamps,
        m023_large_logs,
        m024_heard_ahead,
        m025_facet_counts,
    )


def m001_facts(db: Database) -> None:
    """Facts about the log itself: its id, when and by which version it was begun."""
    db.execute("CREATE TABLE facts (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT")


def m002_recordings(db: Database) -> None:
    """Recordings: the files in ``audio/``, known by what is in them."""
    db.execute("""
        CREATE TABLE recordings (
            file TEXT PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE,
            original_name TEXT NOT NULL,
            sha256 TEXT NOT NULL UNIQUE,
            size_bytes INTEGER NOT NULL,
            duration_s REAL,
            sample_rate_hz INTEGER,
            channels INTEGER,
            codec TEXT,
            recorded_at TEXT,
            handler TEXT,
            taken_at TEXT NOT NULL,
            heard_to_s REAL NOT NULL DEFAULT 0,
            finished_at TEXT
        ) STRICT
    """)


def m003_notes(db: Database) -> None:
    """Notes and their words: evidence, so the file itself refuses to change them."""
    db.execute("""
        CREATE TABLE notes (
            number INTEGER PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE,
            text TEXT NOT NULL,
            engine TEXT NOT NULL,
            model TEXT NOT NULL,
            recording TEXT REFERENCES recordings (file),
            start_s REAL,
            end_s REAL,
            recorded_at TEXT,
            handler TEXT,
            taken_at TEXT NOT NULL,
            alternatives TEXT NOT NULL CHECK (json_valid(alternatives))
        ) STRICT
    """)
    db.execute("CREATE INDEX notes_by_recording ON notes (recording)")
    db.execute("""
        CREATE TABLE words (
            note INTEGER NOT NULL REFERENCES notes (number),
            rank INTEGER NOT NULL,
            text TEXT NOT NULL,
            start_s REAL,
            end_s REAL,
            confidence REAL,
            PRIMARY KEY (note, rank)
        ) STRICT, WITHOUT ROWID
    """)
    for table in ("notes", "words"):
        _forbid(db, table, "UPDATE", "what was heard is evidence and is never changed")
        _forbid(db, table, "DELETE", "what was heard is evidence and is never removed")
    # REPLACE would remove the old row without asking the triggers above.
    _forbid_again(db, "notes", "number = NEW.number OR uid = NEW.uid")
    _forbid_again(db, "words", "note = NEW.note AND rank = NEW.rank")
    # Whether a note is struck is how it was understood, not what was heard.
    db.execute("CREATE TABLE struck_notes (note INTEGER PRIMARY KEY REFERENCES notes) STRICT")


def m004_entries(db: Database) -> None:
    """Entries as they stand now, and where each of their values came from."""
    db.execute("""
        CREATE TABLE entries (
            id TEXT PRIMARY KEY,
            rank INTEGER NOT NULL,
            kind TEXT NOT NULL,
            accession TEXT,
            volume TEXT,
            volume_name TEXT,
            leaf TEXT,
            side TEXT,
            item INTEGER,
            item_type TEXT NOT NULL CHECK (json_valid(item_type)),
            quantity INTEGER NOT NULL,
            attachment TEXT NOT NULL CHECK (json_valid(attachment)),
            adhesion TEXT,
            condition TEXT NOT NULL CHECK (json_valid(condition)),
            action TEXT NOT NULL CHECK (json_valid(action)),
            enclosure TEXT,
            caption TEXT,
            date TEXT,
            dimensions TEXT CHECK (dimensions IS NULL OR json_valid(dimensions)),
            position TEXT,
            images TEXT NOT NULL CHECK (json_valid(images)),
            mark TEXT,
            relations TEXT NOT NULL CHECK (json_valid(relations)),
            blank INTEGER NOT NULL,
            binding TEXT,
            support TEXT,
            overlay TEXT,
            leaves INTEGER,
            cautions TEXT NOT NULL CHECK (json_valid(cautions)),
            remark TEXT,
            status TEXT NOT NULL,
            confidence REAL NOT NULL,
            doubts TEXT NOT NULL CHECK (json_valid(doubts)),
            access TEXT NOT NULL,
            recorded_at TEXT,
            handler TEXT,
            notes TEXT NOT NULL CHECK (json_valid(notes))
        ) STRICT
    """)
    db.execute("CREATE INDEX entries_by_rank ON entries (rank)")
    _forbid(db, "entries", "DELETE", "an entry is voided, never removed: its id stays taken")
    db.execute("""
        CREATE TABLE field_values (
            entry TEXT NOT NULL REFERENCES entries (id),
            field TEXT NOT NULL,
            value TEXT NOT NULL CHECK (json_valid(value)),
            origin TEXT NOT NULL CHECK (json_valid(origin)),
            PRIMARY KEY (entry, field)
        ) STRICT, WITHOUT ROWID
    """)


def m005_revisions(db: Database) -> None:
    """Every later change of a value: what it was, what it became, who, when and why."""
    db.execute("""
        CREATE TABLE revisions (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            entry TEXT NOT NULL REFERENCES entries (id),
            field TEXT NOT NULL,
            before TEXT NOT NULL CHECK (json_valid(before)),
            after TEXT NOT NULL CHECK (json_valid(after)),
            "by" TEXT NOT NULL,
            at TEXT NOT NULL,
            reason TEXT NOT NULL
        ) STRICT
    """)
    db.execute("CREATE INDEX revisions_by_entry ON revisions (entry)")
    for change in ("UPDATE", "DELETE"):
        _forbid(db, "revisions", change, "the history of an entry is only ever added to")


def m017_sessions(db: Database) -> None:
    """Sessions: who was recorded and told; and recordings whose sound was removed."""
    db.execute("""
        CREATE TABLE sessions (
            id TEXT PRIMARY KEY,
            way TEXT NOT NULL,
            device TEXT NOT NULL,
            journal TEXT,
            handler TEXT,
            people TEXT NOT NULL CHECK (json_valid(people)),
            told TEXT NOT NULL CHECK (told IN ('yes', 'no', 'unknown')),
            began_at TEXT,
            ended_at TEXT,
            broken_off INTEGER NOT NULL
        ) STRICT
    """)
    db.execute("""
        CREATE TABLE incidents (
            session TEXT NOT NULL REFERENCES sessions (id),
            rank INTEGER NOT NULL,
            kind TEXT NOT NULL,
            at TEXT NOT NULL,
            seconds REAL NOT NULL,
            why TEXT NOT NULL,
            PRIMARY KEY (session, rank)
        ) STRICT, WITHOUT ROWID
    """)
    db.execute("ALTER TABLE recordings ADD COLUMN session TEXT REFERENCES sessions (id)")
    db.execute("ALTER TABLE recordings ADD COLUMN removed_at TEXT")
    db.execute("ALTER TABLE recordings ADD COLUMN removed_by TEXT")
    db.execute("""
        CREATE TRIGGER recordings_keep_removal
        BEFORE UPDATE OF removed_at, removed_by ON recordings WHEN OLD.removed_at IS NOT NULL
        BEGIN SELECT RAISE(ABORT, 'that sound was removed stays on record'); END
    """)


def m013_acceptances(db: Database) -> None:
    """Findings that somebody accepted, with the reason; null where that was taken back."""
    db.execute("""
        CREATE TABLE acceptances (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            finding TEXT NOT NULL,
            code TEXT NOT NULL,
            message TEXT NOT NULL,
            reason TEXT,
            "by" TEXT NOT NULL,
            at TEXT NOT NULL
        ) STRICT
    """)
    for change in ("UPDATE", "DELETE"):
        _forbid(db, "acceptances", change, "what somebody accepted is only ever added to")


def m015_entry_changes(db: Database) -> None:
    """When each entry last changed, whoever changed it: the file itself keeps count."""
    db.execute("""
        CREATE TABLE entry_changes (
            entry TEXT PRIMARY KEY REFERENCES entries (id),
            at TEXT NOT NULL
        ) STRICT, WITHOUT ROWID
    """)
    # Entries that were there before: the last time that a note or a revision touched them.
    db.execute("""
        INSERT INTO entry_changes
        SELECT entries.id, strftime('%Y-%m-%dT%H:%M:%fZ', max(
            coalesce((SELECT max(julianday(notes.taken_at)) FROM notes, json_each(entries.notes)
                      WHERE notes.number = json_each.value), 0),
            coalesce((SELECT max(julianday(revisions.at)) FROM revisions
                      WHERE revisions.entry = entries.id), 0)
        ))
        FROM entries
    """)
    _stamp_entries(db)


def m016_exports(db: Database) -> None:
    """What left the house, when, and as which bytes."""
    db.execute("""
        CREATE TABLE exports (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            format TEXT NOT NULL,
            name TEXT NOT NULL,
            made_at TEXT NOT NULL,
            as_of TEXT NOT NULL,
            made_by TEXT NOT NULL,
            entries INTEGER NOT NULL,
            restricted_left_out INTEGER NOT NULL,
            unconfirmed_left_out INTEGER NOT NULL,
            include_restricted INTEGER NOT NULL,
            include_unconfirmed INTEGER NOT NULL,
            changed_since TEXT,
            files TEXT NOT NULL CHECK (json_valid(files))
        ) STRICT
    """)
    for change in ("UPDATE", "DELETE"):
        _forbid(db, "exports", change, "the list of exports is only ever added to")


def m018_questions(db: Database) -> None:
    """Which entry the program had asked about when a note was said."""
    db.execute("ALTER TABLE notes ADD COLUMN about TEXT")


def m021_brought(db: Database) -> None:
    """What came from another bench: whose notes they were, and as what its entries came."""
    db.execute("""
        CREATE TABLE brought_notes (
            note INTEGER PRIMARY KEY REFERENCES notes (number),
            log TEXT NOT NULL,
            number INTEGER NOT NULL,
            struck INTEGER NOT NULL
        ) STRICT
    """)
    db.execute("""
        CREATE TABLE brought_entries (
            entry TEXT NOT NULL REFERENCES entries (id),
            log TEXT NOT NULL,
            content TEXT NOT NULL CHECK (json_valid(content)),
            "into" TEXT REFERENCES entries (id),
            PRIMARY KEY (entry, log)
        ) STRICT, WITHOUT ROWID
    """)
    for change in ("UPDATE", "DELETE"):
        _forbid(db, "brought_notes", change, "where a note came from is evidence")


def m022_entry_stamps(db: Database) -> None:
    """Entries are stamped to the millisecond, also in logs that were begun to the second."""
    db.execute("DROP TRIGGER entries_note_first")
    db.execute("DROP TRIGGER entries_note_change")
    db.execute(
        "UPDATE entry_changes SET at = strftime('%Y-%m-%dT%H:%M:%fZ', at) "
        "WHERE at <> strftime('%Y-%m-%dT%H:%M:%fZ', at)"
    )
    _stamp_entries(db)


def _stamp_entries(db: Database) -> None:
    """Have the file itself write down when an entry changes."""
    # To the millisecond: two changes that are each on the disk for good never share one.
    # A new rank is no change of an entry: it only says where it stands among the others.
    columns = (
        "kind, accession, volume, volume_name, leaf, side, item, item_type, quantity, "
        "attachment, adhesion, condition, action, enclosure, caption, date, dimensions, "
        "position, images, mark, relations, blank, binding, support, overlay, leaves, "
        "cautions, remark, status, confidence, doubts, access, recorded_at, handler, notes"
    )
    before, after = (
        ", ".join(f"{when}.{column.strip()}" for column in columns.split(","))
        for when in ("OLD", "NEW")
    )
    stamp = f"INSERT OR REPLACE INTO entry_changes VALUES (NEW.id, {STAMP})"  # noqa: S608 - constant
    db.execute(f"""
        CREATE TRIGGER entries_note_first AFTER INSERT ON entries BEGIN {stamp}; END
    """)
    db.execute(f"""
        CREATE TRIGGER entries_note_change AFTER UPDATE ON entries
        WHEN ({before}) IS NOT ({after})
        BEGIN {stamp}; END
    """)


def m024_heard_ahead(db: Database) -> None:
    """What was heard of recordings whose turn to be read has not come."""
    db.execute("""
        CREATE TABLE heard_ahead (
            recording TEXT PRIMARY KEY REFERENCES recordings (file),
            heard_to_s REAL NOT NULL,
            is_complete INTEGER NOT NULL,
            utterances TEXT NOT NULL CHECK (json_valid(utterances))
        ) STRICT
    """)


def _forbid_again(db: Database, table: str, same: str) -> None:
    db.execute(f"""
        CREATE TRIGGER {table}_refuse_again BEFORE INSERT ON {table}
        WHEN EXISTS (SELECT 1 FROM {table} WHERE {same})
        BEGIN SELECT RAISE(ABORT, 'what was heard is evidence and is never replaced'); END
    """)  # noqa: S608 - both texts are our own, above
