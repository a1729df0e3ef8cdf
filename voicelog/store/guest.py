"""A log's database from elsewhere: copied, looked through, and only then read.

SQLite runs what a file's schema says: triggers, views, expressions in indexes
(https://www.sqlite.org/security.html, "Untrusted SQLite Database Files"). So a file from
elsewhere must have exactly the tables and triggers that voicelog makes, letter by letter,
and its pages must be in order, before anything is asked of it.
"""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlite_utils import Database, Migrations

from voicelog.errors import LogFromNewerVersion, StoreError
from voicelog.store.connection import connect_to_write
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME
from voicelog.store.log import Log
from voicelog.store.schema import (
    APPLICATION_ID,
    EARLIER_STAMPS,
    STAMP,
    make_migrations,
    steps,
)

Schema = frozenset[tuple[str, str, str]]

_MOST_ROWS_BYTES = 100_000_000
"""Nothing in a log comes near this; a crafted value could ask for a gigabyte."""


def open_guest(database_file: Path, scratch: Path) -> Log:
    """Open a copy of a database from elsewhere as a log, brought up to today's tables.

    Args:
        database_file: the file; it is only read.
        scratch: an empty folder, which becomes the log's.

    Raises:
        LogFromNewerVersion: a later version made it.
        StoreError: it is no log's database, or not in order; the sentence says in what.
    """
    copy = scratch / DATABASE_NAME
    shutil.copyfile(database_file, copy)
    (scratch / AUDIO_NAME).mkdir()
    try:
        _look_through(copy)
        connect_to_write(copy).close()
    # Names of columns that are no text come out of Python's library as the second.
    except (sqlite3.Error, UnicodeDecodeError) as failure:
        raise StoreError(f"its log.sqlite can't be read ({failure})") from failure
    return Log.open(scratch)


def _look_through(file: Path) -> None:
    with closing(Database(sqlite3.connect(file), execute_plugins=False)) as database:
        database.conn.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _MOST_ROWS_BYTES)
        # Not "trusted_schema = OFF": that forbids json_valid(), which our own tables ask for.
        database.execute("PRAGMA cell_size_check = ON")
        if database.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            raise StoreError("its log.sqlite is not the database of a log")
        _check_schema(database)
        if database.execute("PRAGMA integrity_check(1)").fetchone() != ("ok",):
            raise StoreError("its log.sqlite is damaged")
        if database.execute("PRAGMA foreign_key_check").fetchone() is not None:
            raise StoreError("its log.sqlite points at entries or notes that aren't there")


def _check_schema(database: Database) -> None:
    """Refuse any table, trigger or view but ours, and any of ours that is missing or altered."""
    # Not asked through the library before the tables are known: a view may bear their name.
    there = _read_schema(database)
    if not any(name == "_sqlite_migrations" and kind == "table" for kind, name, _ in there):
        raise StoreError("its log.sqlite is not the database of a log")
    known = {step.__name__: step for step in steps()}
    applied = [step.name for step in make_migrations().applied(database)]
    if unknown := [name for name in applied if name not in known]:
        raise LogFromNewerVersion(
            f"it was made by a later voicelog ({unknown[-1]}); update voicelog to bring it in"
        )
    with closing(Database(memory=True, execute_plugins=False)) as ours:
        migrations = Migrations("voicelog")
        # In the order in which they were made there, which decides the order of columns.
        for name in applied:
            migrations()(known[name])
        migrations.apply(ours)
        if there != _read_schema(ours):
            raise StoreError("its log.sqlite has other tables than a log has")


def _read_schema(database: Database) -> Schema:
    return frozenset(
        (kind, name, _tidy(sql or ""))
        for kind, name, sql in database.execute("SELECT type, name, sql FROM sqlite_master")
    )


def _tidy(sql: str) -> str:
    """Return SQL in one line, an earlier wording of ours replaced by today's."""
    tidy = " ".join(sql.split())
    for earlier in EARLIER_STAMPS:
        tidy = tidy.replace(earlier, STAMP)
    return tidy
