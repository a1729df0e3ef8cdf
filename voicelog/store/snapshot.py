"""A copy of a log's database as it stands, in one file that nothing else belongs to."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlite_utils import Database

from voicelog.store.failures import explained
from voicelog.store.folder import DATABASE_NAME
from voicelog.store.kept_reading import forget_kept
from voicelog.store.word_index import drop_word_index

_LIST_OF_EXPORTS = "exports"


def write_snapshot(log_folder: Path, target: Path) -> None:
    """Write a copy of a log's database that the same log always gives byte for byte.

    It is taken by SQLite's own backup, so that a writer may be at work meanwhile, and then
    packed. What was exported when is left out: that is about the log it was exported from,
    and would make every copy differ from the last. So are where reading has come to and the
    index of words, which can be made again, and what was heard and is not read yet: nobody can
    say whether it may leave.

    Args:
        log_folder: the log's folder.
        target: the file to write; it isn't there yet.

    Raises:
        StoreError: the log can't be read, or the copy not be written.
    """
    where = (log_folder / DATABASE_NAME).absolute().as_uri()
    with (
        explained(log_folder),
        closing(sqlite3.connect(f"{where}?mode=ro", uri=True)) as source,
        closing(sqlite3.connect(target, isolation_level=None)) as copy,
    ):
        source.backup(copy)
        # A copy that is read from a disk that can't be written must need no side files.
        copy.execute("PRAGMA journal_mode = DELETE")
        _forget_exports(copy)
        copy.execute("DELETE FROM heard_ahead")
        database = Database(copy, execute_plugins=False)
        forget_kept(database)
        drop_word_index(database)
        copy.execute("VACUUM")


def _forget_exports(copy: sqlite3.Connection) -> None:
    """Empty the list of exports; the triggers that forbid it are put back as they were."""
    triggers = copy.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ? ORDER BY name",
        [_LIST_OF_EXPORTS],
    ).fetchall()
    for name, _ in triggers:
        copy.execute(f'DROP TRIGGER "{name}"')
    copy.execute(f"DELETE FROM {_LIST_OF_EXPORTS}")  # noqa: S608 - a constant
    copy.execute("DELETE FROM sqlite_sequence WHERE name = ?", [_LIST_OF_EXPORTS])
    for _, sql in triggers:
        copy.execute(sql)
