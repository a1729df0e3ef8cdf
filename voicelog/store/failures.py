"""The seam where failures of SQLite and of the disk become sentences."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from voicelog.errors import DiskFull, StoreError, UsageError

# EFBIG is what a process meets that may not write a larger file (a quota by another name).
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


@contextmanager
def explained(folder: Path) -> Iterator[None]:
    """Turn failures of the database or the disk into one sentence about the log.

    Raises:
        DiskFull: there is no room left; the unfinished change was rolled back.
        StoreError: anything else the database or the disk refused.
    """
    try:
        yield
    except sqlite3.Error as failure:
        raise _explain_database(failure, folder) from failure
    except UnicodeDecodeError as failure:
        # What Python's library makes of a damaged name of a table or column.
        raise StoreError(
            _describe(sqlite3.SQLITE_CORRUPT, sqlite3.DatabaseError(failure.reason), folder)
        ) from failure
    except OSError as failure:
        raise _explain_disk(failure, folder) from failure


def _explain_database(failure: sqlite3.Error, folder: Path) -> StoreError | UsageError:
    # The low byte is the primary code: https://www.sqlite.org/rescode.html
    code = getattr(failure, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_FULL:
        return _disk_full(folder)
    if code == sqlite3.SQLITE_NOTADB:
        return UsageError(
            f"{folder / 'log.sqlite'} is not a voicelog log; name another folder with --log."
        )
    return StoreError(_describe(code, failure, folder))


def _describe(code: int, failure: sqlite3.Error, folder: Path) -> str:
    match code:
        case sqlite3.SQLITE_CORRUPT:
            return (
                f"The log {folder} is damaged ({failure}); keep it as it is and work from a "
                "backup, or save what can be read with 'voicelog salvage'."
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM:
            return (
                f"The log {folder} can't be opened ({failure}); "
                "check that the folder and log.sqlite belong to you and can be written."
            )
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return f"Another program holds the log {folder}; close it there, then try again."
        case sqlite3.SQLITE_CONSTRAINT:
            return (
                f"The log {folder} refused a change ({failure}), so nothing of it was stored; "
                "this is a fault in voicelog, please report it."
            )
    return (
        f"The log {folder} could not be read or written ({failure}); "
        "check the disk, then run the command again."
    )


def _explain_disk(failure: OSError, folder: Path) -> StoreError:
    if failure.errno in _NO_ROOM:
        return _disk_full(folder)
    reason = failure.strerror or str(failure)
    what = failure.filename or folder
    return StoreError(
        f"{what} could not be read or written ({reason.lower()}); "
        "check the folder's rights and the disk, then run the command again."
    )


def _disk_full(folder: Path) -> DiskFull:
    return DiskFull(
        f"No room is left on the disk of {folder}; what was saved before is safe. "
        "Make room, then run the same command again."
    )
