"""The rows of a damaged log put into the tables of a new one, and made to fit together again."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlite_utils import Database

from voicelog.store.connection import connect_to_write
from voicelog.store.display_ranks import settle_all_ranks
from voicelog.store.failures import explained
from voicelog.store.folder import DATABASE_NAME, make_log_folder
from voicelog.store.order_schema import DERIVED_TABLES, renew_derived
from voicelog.store.salvage.cells import Value
from voicelog.store.salvage.page_file import PageFile
from voicelog.store.salvage.tables import Found, describe_tables, read_tables
from voicelog.store.word_index import renew_word_index
from voicelog.store.writing import now_text

SALVAGED_ENGINE = "salvage"
"""What a note is said to be heard by whose own row is lost."""

_NAMING_NOTES = (
    "SELECT number AS note FROM notes UNION SELECT note FROM words UNION "
    "SELECT after_note FROM acts UNION SELECT note FROM redactions UNION "
    "SELECT note FROM brought_notes UNION SELECT note FROM struck_notes UNION "
    "SELECT value FROM entries, json_each(entries.notes)"
)
_NAMING_ACTS = (
    "SELECT number AS act FROM acts UNION SELECT act FROM decisions UNION "
    "SELECT act FROM revisions WHERE act IS NOT NULL UNION SELECT act FROM signatures UNION "
    "SELECT act FROM samples UNION SELECT learnt_in FROM lessons UNION "
    "SELECT done_in FROM redactions WHERE done_in IS NOT NULL"
)
# Of an act that is lost, what hangs on it can't be told from anything else; what it left in the
# entries is kept there.
_WITHOUT_ITS_ACT = (
    ("decisions", "act"),
    ("signatures", "act"),
    ("samples", "act"),
    ("lessons", "learnt_in"),
)
_OF_ENTRIES = (
    ("field_values", "entry"),
    ("decisions", "entry"),
    ("revisions", "entry"),
    ("entry_changes", "entry"),
    ("sampled_entries", "entry"),
    ("brought_entries", "entry"),
    ("brought_entries", "into"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """What could not be saved of a database, as far as anything still tells of it.

    Attributes:
        broken_pages: how many pages could not be read.
        notes: the numbers of the notes that are lost.
        notes_from_words: those of which the words were left.
        acts: the numbers of the acts of review that are lost.
        acts_in_part: those of which some decisions are lost.
        recordings: the files of the recordings of which the log no longer knows anything.
        has_lost_facts: whether the log's own facts are lost, its id among them.
        rows: how many rows of other kinds had to be left out.
    """

    broken_pages: int
    notes: tuple[int, ...]
    notes_from_words: tuple[int, ...]
    acts: tuple[int, ...]
    acts_in_part: tuple[int, ...]
    recordings: tuple[str, ...]
    has_lost_facts: bool
    rows: int

    @property
    def is_evidence_whole(self) -> bool:
        """Whether every note and act is there, so that reading them gives the log again."""
        return not (self.notes or self.notes_from_words or self.acts or self.acts_in_part)


def rebuild(damaged: Path, folder: Path) -> Losses:
    """Begin a log in an empty folder with all that can still be read of a damaged database.

    Afterwards the rows fit together, but for entries that nothing holds any more: they may
    come out of reading the notes again. Call :func:`leave_out_the_lost` after that.

    Args:
        damaged: the damaged database file; it is only read.
        folder: the new log's folder.

    Raises:
        DiskFull: there is no room for it.
        StoreError: it could not be written, or the damaged file not be read at all.
    """
    with explained(folder):
        make_log_folder(folder)
        database = connect_to_write(folder / DATABASE_NAME)
    try:
        with explained(folder), _unguarded(database):
            tables = describe_tables(database.conn)
            with explained(damaged.parent), PageFile(damaged) as file:
                found = read_tables(file, tables)
            return _put_in(database, found)
    finally:
        database.close()


def leave_out_the_lost(folder: Path) -> int:
    """Leave out what hangs on entries that are lost for good, and return how many rows that is."""
    with explained(folder):
        database = connect_to_write(folder / DATABASE_NAME)
    try:
        with explained(folder), _unguarded(database):
            left_out = sum(
                _delete(
                    database,
                    f'FROM {table} WHERE "{column}" IS NOT NULL AND "{column}" NOT IN '  # noqa: S608
                    "(SELECT id FROM entries)",
                )
                for table, column in _OF_ENTRIES
            )
            database.execute(
                "UPDATE redactions SET done_in = (SELECT max(number) FROM acts) "
                "WHERE done_in IS NOT NULL AND done_in NOT IN (SELECT number FROM acts)"
            )
            return left_out
    finally:
        database.close()


def _put_in(database: Database, found: Found) -> Losses:
    refused = 0
    for table, rows in found.rows.items():
        if table in DERIVED_TABLES:
            continue
        refused += sum(not _insert(database, table, row) for row in rows)
    lost, from_words = _fill_in_notes(database)
    lost_acts, in_part = _settle_acts(database, found)
    recordings = _fill_in_recordings(database)
    left_out = _settle_sessions(database)
    renew_derived(database)
    settle_all_ranks(database)
    renew_word_index(database)
    return Losses(
        broken_pages=found.broken_pages,
        notes=lost,
        notes_from_words=from_words,
        acts=lost_acts,
        acts_in_part=in_part,
        recordings=recordings,
        has_lost_facts="uid" not in _facts(database),
        rows=refused + found.broken_rows + left_out,
    )


def _insert(database: Database, table: str, row: Mapping[str, Value]) -> bool:
    columns = ", ".join(f'"{name}"' for name in row)
    places = ", ".join("?" for _ in row)
    try:
        database.conn.execute(
            f'INSERT OR REPLACE INTO "{table}" ({columns}) VALUES ({places})',  # noqa: S608
            list(row.values()),
        )
    except (sqlite3.IntegrityError, OverflowError):
        return False  # No row that a log can have, so a page was not what it seemed.
    return True


def _facts(database: Database) -> frozenset[str]:
    return frozenset(key for (key,) in database.execute("SELECT key FROM facts"))


def _fill_in_notes(database: Database) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Keep a place for every note that is lost, so that its number is never given again.

    Where its words are left, they are its text.
    """
    known = {number for (number,) in database.execute("SELECT number FROM notes")}
    named = {number for (number,) in database.execute(_NAMING_NOTES)}
    last = max(named | known, default=0)
    lost: list[int] = []
    from_words: list[int] = []
    for number in sorted(set(range(1, last + 1)) - known):
        words = [
            text
            for (text,) in database.execute(
                "SELECT text FROM words WHERE note = ? ORDER BY rank", [number]
            )
        ]
        (from_words if words else lost).append(number)
        database.execute(
            "INSERT INTO notes (number, uid, text, engine, model, taken_at, alternatives) "
            "VALUES (?, ?, ?, ?, '', ?, '[]')",
            [number, str(uuid.uuid4()), " ".join(words), SALVAGED_ENGINE, now_text()],
        )
    return tuple(lost), tuple(from_words)


def _settle_acts(database: Database, found: Found) -> tuple[tuple[int, ...], tuple[int, ...]]:
    known = {number for (number,) in database.execute("SELECT number FROM acts")}
    named = {number for (number,) in database.execute(_NAMING_ACTS)}
    last = max(named | known, default=0)
    lost = tuple(sorted(set(range(1, last + 1)) - known))
    in_part = tuple(sorted(_find_acts_in_part(database)))
    for table, column in _WITHOUT_ITS_ACT:
        _delete(database, f"FROM {table} WHERE {column} NOT IN (SELECT number FROM acts)")  # noqa: S608
    _delete(database, "FROM sampled_entries WHERE sample NOT IN (SELECT act FROM samples)")
    for table, column in (("revisions", "act"), ("sampled_entries", "judged_in")):
        database.execute(
            f"UPDATE {table} SET {column} = NULL WHERE {column} IS NOT NULL "  # noqa: S608
            f"AND {column} NOT IN (SELECT number FROM acts)"
        )
    database.execute(
        "UPDATE acts SET undoes = NULL WHERE undoes IS NOT NULL "
        "AND undoes NOT IN (SELECT number FROM acts)"
    )
    if last and found.rows:
        # No number of an act is given twice, that of a lost one neither.
        database.execute("DELETE FROM sqlite_sequence WHERE name = 'acts'")
        database.execute("INSERT INTO sqlite_sequence VALUES ('acts', ?)", [last])
    return lost, in_part


def _find_acts_in_part(database: Database) -> Iterator[int]:
    """Yield the acts whose decisions have a gap; of a lost last one nothing tells."""
    for act, count, last in database.execute(
        "SELECT act, count(*), max(rank) FROM decisions "
        "WHERE act IN (SELECT number FROM acts) GROUP BY act"
    ):
        if count != last + 1:
            yield act
    yield from (
        act
        for (act,) in database.execute(
            "SELECT DISTINCT act FROM revisions WHERE act IN (SELECT number FROM acts) "
            "AND act NOT IN (SELECT act FROM decisions)"
        )
    )


def _fill_in_recordings(database: Database) -> tuple[str, ...]:
    """Keep a place for every recording that notes name and that the log no longer knows."""
    files = [
        file
        for (file,) in database.execute(
            "SELECT DISTINCT recording FROM notes WHERE recording IS NOT NULL "
            "AND recording NOT IN (SELECT file FROM recordings) ORDER BY recording"
        )
    ]
    for file in files:
        database.execute(
            "INSERT INTO recordings (file, uid, original_name, sha256, size_bytes, taken_at, "
            "heard_to_s) VALUES (?, ?, ?, ?, 0, ?, "
            "(SELECT coalesce(max(end_s), 0) FROM notes WHERE recording = ?))",
            [file, str(uuid.uuid4()), file, f"unknown: {file}", now_text(), file],
        )
    return tuple(files)


def _settle_sessions(database: Database) -> int:
    database.execute(
        "UPDATE recordings SET session = NULL WHERE session NOT IN (SELECT id FROM sessions)"
    )
    return sum(
        _delete(database, f"FROM {table} WHERE {column} NOT IN (SELECT {parent})")
        for table, column, parent in (
            ("incidents", "session", "id FROM sessions"),
            ("fingerprints_before", "file", "file FROM recordings"),
        )
    )


def _delete(database: Database, of: str) -> int:
    return database.conn.execute(f"DELETE {of}").rowcount


@contextmanager
def _unguarded(database: Database) -> Iterator[None]:
    """Work on a log that nobody has seen yet without the guards of its file; all or nothing.

    Triggers that keep something up to date do their work as ever.
    """
    guards = database.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' "
        "AND sql LIKE '%RAISE(ABORT%' ORDER BY rowid"
    ).fetchall()
    database.execute("PRAGMA foreign_keys = OFF")
    with database.atomic():
        for name, _ in guards:
            database.execute(f'DROP TRIGGER "{name}"')
        yield
        for _, sql in guards:
            database.execute(sql)
    database.execute("PRAGMA foreign_keys = ON")
