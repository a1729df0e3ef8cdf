"""Opening the database file of a log, and making sure that it is one."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from sqlite_utils import Database

from voicelog.errors import LogFromNewerVersion, StoreError, UsageError
from voicelog.store.schema import APPLICATION_ID, make_migrations, steps
from voicelog.store.word_index import make_word_index


def connect_to_read(database_file: Path) -> Database:
    """Open a log's database so that nothing in its folder changes.

    Raises:
        UsageError: it is not a log.
        StoreError: it is a log that this version can't read.
    """
    database = Database(connect_to_look(database_file), execute_plugins=False)
    try:
        _check_ours(database, database_file)
        _check_up_to_date(database, database_file)
    except BaseException:
        database.close()
        raise
    return database


def connect_to_write(database_file: Path) -> Database:
    """Open a log's database and bring its tables up to date.

    Raises:
        UsageError: it is not a log.
        LogFromNewerVersion: it was made by a later version.
    """
    database = Database(sqlite3.connect(database_file), execute_plugins=False)
    try:
        _check_ours(database, database_file)
        _prepare_to_write(database)
        make_migrations().apply(database)
        make_word_index(database)
        # From here on, what was stored must outlive a power cut, not only a crash.
        database.execute("PRAGMA synchronous = FULL")
    except BaseException:
        database.close()
        raise
    return database


def connect_to_look(database_file: Path) -> sqlite3.Connection:
    """Open a log's database of whatever version so that nothing in its folder changes.

    Raises:
        sqlite3.Error: it can't be opened, or is no database.
    """
    where = database_file.absolute().as_uri()
    try:
        # Not mode=ro: such a connection makes SQLite's side files but may not remove them.
        connection = sqlite3.connect(f"{where}?mode=rw", uri=True)
        connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT 1 FROM sqlite_master").fetchone()
    except sqlite3.OperationalError:
        if database_file.with_name(f"{database_file.name}-wal").exists():
            raise
        # A log on a disk that can't be written, and nobody writes to it: SQLite can't make
        # its side files there, and needs none. https://www.sqlite.org/wal.html#readonly
        connection = sqlite3.connect(f"{where}?mode=ro&immutable=1", uri=True)
    return connection


def _prepare_to_write(database: Database) -> None:
    database.execute("PRAGMA journal_mode = WAL")
    # In WAL mode this is safe against corruption: https://www.sqlite.org/pragma.html#pragma_synchronous
    database.execute("PRAGMA synchronous = NORMAL")
    database.execute("PRAGMA foreign_keys = ON")
    if database.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        # Setting it writes to the file, even where it is the same.
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def _check_ours(database: Database, database_file: Path) -> None:
    mark = database.execute("PRAGMA application_id").fetchone()[0]
    tables = database.table_names()
    if mark != APPLICATION_ID and (tables or mark):
        raise UsageError(
            f"{database_file} belongs to another program; name another folder with --log."
        )
    known = {step.__name__ for step in steps()}
    applied = [step.name for step in make_migrations().applied(database)]
    if unknown := [name for name in applied if name not in known]:
        raise LogFromNewerVersion(
            f"The log {database_file.parent} was made by a later voicelog ({unknown[-1]}); "
            "update voicelog to open it. Nothing was changed."
        )


def _check_up_to_date(database: Database, database_file: Path) -> None:
    if make_migrations().pending(database):
        raise StoreError(
            f"The log {database_file.parent} was made by an earlier voicelog, or never "
            "finished being made; add a note to it, then it can be read."
        )
