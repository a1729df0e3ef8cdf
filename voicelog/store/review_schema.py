"""The tables of review: acts, sign-offs, samples; steps of :mod:`voicelog.store.schema`."""

from __future__ import annotations

from sqlite_utils import Database

from voicelog.store.guards import forbid


def m007_acts(db: Database) -> None:
    """What reviewers did: every act, what it decided, and what was there before."""
    db.execute("""
        CREATE TABLE acts (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            kind TEXT NOT NULL,
            "by" TEXT NOT NULL,
            at TEXT NOT NULL,
            session TEXT NOT NULL,
            after_note INTEGER NOT NULL,
            undoes INTEGER UNIQUE REFERENCES acts (number),
            details TEXT NOT NULL CHECK (json_valid(details))
        ) STRICT
    """)
    db.execute("CREATE INDEX acts_by_session ON acts (session)")
    db.execute("""
        CREATE TABLE decisions (
            act INTEGER NOT NULL REFERENCES acts (number),
            rank INTEGER NOT NULL,
            entry TEXT NOT NULL REFERENCES entries (id),
            decided TEXT NOT NULL CHECK (json_valid(decided)),
            adds TEXT NOT NULL CHECK (json_valid(adds)),
            made TEXT CHECK (made IS NULL OR json_valid(made)),
            before TEXT NOT NULL CHECK (json_valid(before)),
            version INTEGER NOT NULL,
            PRIMARY KEY (act, rank)
        ) STRICT, WITHOUT ROWID
    """)
    db.execute("CREATE INDEX decisions_by_entry ON decisions (entry)")
    for table in ("acts", "decisions"):
        for change in ("UPDATE", "DELETE"):
            forbid(db, table, change, "what a reviewer did is only ever added to")
    # Counts the changes of an entry, so that nobody overwrites what they haven't seen.
    db.execute("ALTER TABLE entries ADD COLUMN version INTEGER NOT NULL DEFAULT 1")
    db.execute("CREATE INDEX entries_by_volume ON entries (accession, volume)")
    db.execute("ALTER TABLE revisions ADD COLUMN act INTEGER REFERENCES acts (number)")


def m008_signatures(db: Database) -> None:
    """Volumes that a reviewer signed off, and who unlocked them again and why."""
    db.execute("""
        CREATE TABLE signatures (
            act INTEGER PRIMARY KEY REFERENCES acts (number),
            accession TEXT,
            volume TEXT,
            "by" TEXT NOT NULL,
            at TEXT NOT NULL,
            unlocked_by TEXT,
            unlocked_at TEXT,
            unlocked_why TEXT
        ) STRICT
    """)
    forbid(db, "signatures", "DELETE", "a sign-off is unlocked, never removed")


def m009_samples(db: Database) -> None:
    """Blind samples of undoubted entries, and what a person found when judging each."""
    db.execute("""
        CREATE TABLE samples (
            act INTEGER PRIMARY KEY REFERENCES acts (number),
            percent REAL NOT NULL,
            seed TEXT NOT NULL,
            drawn_from INTEGER NOT NULL
        ) STRICT
    """)
    db.execute("""
        CREATE TABLE sampled_entries (
            entry TEXT PRIMARY KEY REFERENCES entries (id),
            sample INTEGER NOT NULL REFERENCES samples (act),
            verdict TEXT CHECK (verdict IN ('right', 'wrong')),
            fields TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(fields)),
            judged_in INTEGER REFERENCES acts (number)
        ) STRICT, WITHOUT ROWID
    """)
    for table in ("samples", "sampled_entries"):
        forbid(db, table, "DELETE", "what was sampled stays sampled")


def m010_lessons(db: Database) -> None:
    """What corrections taught: words that are heard where others were said."""
    db.execute("""
        CREATE TABLE lessons (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            heard TEXT NOT NULL,
            meant TEXT NOT NULL,
            field TEXT NOT NULL,
            examples TEXT NOT NULL CHECK (json_valid(examples)),
            from_note INTEGER NOT NULL,
            until_note INTEGER,
            learnt_in INTEGER NOT NULL REFERENCES acts (number)
        ) STRICT
    """)
    # Notes that were read with it must be read the same way again.
    forbid(db, "lessons", "DELETE", "a lesson is taken back, never removed")


def m011_redactions(db: Database) -> None:
    """Words and sound that were taken out for good: where, by whom and why, never what.

    While a redaction is under way, and only then, the file lets what it says be changed.
    """
    db.execute("""
        CREATE TABLE redactions (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            note INTEGER NOT NULL REFERENCES notes (number),
            first INTEGER NOT NULL,
            last INTEGER NOT NULL,
            start_s REAL,
            end_s REAL,
            "by" TEXT NOT NULL,
            at TEXT NOT NULL,
            reason TEXT NOT NULL,
            done_in INTEGER REFERENCES acts (number)
        ) STRICT
    """)
    forbid(db, "redactions", "DELETE", "that something was redacted stays on record")
    # A recording that was silenced has other bytes; it is still known by those it came with.
    db.execute("""
        CREATE TABLE fingerprints_before (
            sha256 TEXT PRIMARY KEY,
            file TEXT NOT NULL REFERENCES recordings (file)
        ) STRICT, WITHOUT ROWID
    """)
    for table, why in (
        ("notes", "what was heard is evidence and is never changed"),
        ("words", "what was heard is evidence and is never changed"),
        ("revisions", "the history of an entry is only ever added to"),
        ("acts", "what a reviewer did is only ever added to"),
        ("decisions", "what a reviewer did is only ever added to"),
    ):
        its = {"notes": "note = OLD.number AND ", "words": "note = OLD.note AND "}.get(table, "")
        _let_redactions_through(db, table, why, its=its)


def m012_redacted_acceptances(db: Database) -> None:
    """What was accepted may quote words, so a redaction reaches there too."""
    _let_redactions_through(
        db, "acceptances", "what somebody accepted is only ever added to", its=""
    )


def _let_redactions_through(db: Database, table: str, why: str, *, its: str) -> None:
    """Refuse UPDATE as before, unless a redaction of these words is under way."""
    db.execute(f"DROP TRIGGER {table}_refuse_update")
    db.execute(f"""
        CREATE TRIGGER {table}_refuse_update BEFORE UPDATE ON {table}
        WHEN NOT EXISTS (SELECT 1 FROM redactions WHERE {its}done_in IS NULL)
        BEGIN SELECT RAISE(ABORT, '{why}'); END
    """)  # noqa: S608 - all of it our own text
