"""The log's folder: made for its owner alone, recognised before it is touched."""

from __future__ import annotations

import os
import shutil
from collections.abc import Container
from pathlib import Path

from voicelog.errors import UsageError

DATABASE_NAME = "log.sqlite"
AUDIO_NAME = "audio"
LOCK_NAME = "log.lock"
# A recording on its way into the log carries this until all of it is on the disk.
INCOMING_PREFIX = ".incoming-"
# All of it is on the disk, and behind this stands the name that it gets once the log knows it.
ARRIVING_PREFIX = ".arriving-"


def make_log_folder(folder: Path) -> bool:
    """Make the folder of a log and what belongs in it, where they aren't there yet.

    Returns:
        whether a log is begun here that wasn't there before.

    Raises:
        UsageError: the path is a file, or a folder that holds something else already.
    """
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is a file, not a folder; name another folder with --log.")
    is_new = not is_log_folder(folder)
    if folder.is_dir() and is_new and not _is_barely_begun(folder):
        raise UsageError(
            f"{folder} holds other things and is not a log; "
            "name a new or an empty folder with --log."
        )
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    folder.chmod(0o700)
    (folder / AUDIO_NAME).mkdir(mode=0o700, exist_ok=True)
    # Made by us first: SQLite would make it readable for others, and its side files
    # (-wal, -shm) take the rights of this one.
    os.close(os.open(folder / DATABASE_NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600))
    return is_new


def _is_barely_begun(folder: Path) -> bool:
    """Say whether there is nothing in a folder but what a log is begun with."""
    ours = {AUDIO_NAME, LOCK_NAME, f"{DATABASE_NAME}-wal", f"{DATABASE_NAME}-shm"}
    audio = folder / AUDIO_NAME
    has_audio = audio.is_dir() and any(audio.iterdir())
    return not has_audio and all(path.name in ours for path in folder.iterdir())


def require_log_folder(folder: Path) -> None:
    """Make sure that there is a log to read.

    Raises:
        UsageError: there is none; the sentence says how to begin one.
    """
    if not is_log_folder(folder):
        what = "is not there" if not folder.exists() else "is not a log"
        raise UsageError(
            f"{folder} {what}; name a log's folder with --log, "
            "or begin one with 'voicelog transcribe' or 'voicelog parse'."
        )


def is_log_folder(folder: Path) -> bool:
    """Tell whether the folder holds a log's database."""
    return (folder / DATABASE_NAME).is_file()


def finish_arrivals(folder: Path, known: Container[str]) -> None:
    """Give recordings that arrived, and that the log knows by now, their names.

    Args:
        folder: the log's folder.
        known: the names of the recordings that the log knows.
    """
    audio = folder / AUDIO_NAME
    named = False
    for path in list(audio.glob(f"{ARRIVING_PREFIX}*")):
        target = audio / path.name.removeprefix(ARRIVING_PREFIX)
        if target.name in known and not target.exists():
            path.rename(target)
            named = True
    if named:
        sync_names(audio)


def remove_unfinished_copies(folder: Path) -> None:
    """Remove what a killed run left half-copied, or copied and never known to the log.

    Only the holder of the lock may, once :func:`finish_arrivals` was called.
    """
    for prefix in (INCOMING_PREFIX, ARRIVING_PREFIX):
        for leftover in (folder / AUDIO_NAME).glob(f"{prefix}*"):
            leftover.unlink()


def sync_names(folder: Path) -> None:
    """Make sure that what was named, renamed or removed in a folder is so on the disk."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def copy_file(source: Path, target: Path) -> None:
    """Copy a file for its owner alone, and make sure that it is on the disk."""
    with source.open("rb") as stream:
        descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
        with os.fdopen(descriptor, "wb") as new:
            shutil.copyfileobj(stream, new, 1 << 20)
            new.flush()
            os.fsync(new.fileno())
    status = source.stat()
    os.utime(target, ns=(status.st_atime_ns, status.st_mtime_ns))


def remove_new_database(folder: Path) -> None:
    """Remove a database that could not be begun, so that no half-made log is left."""
    for name in (DATABASE_NAME, f"{DATABASE_NAME}-wal", f"{DATABASE_NAME}-shm"):
        (folder / name).unlink(missing_ok=True)
