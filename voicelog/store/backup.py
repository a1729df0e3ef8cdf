"""A log copied while others may be writing to it, and the copy read again before it counts."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import StoreError
from voicelog.store.connection import connect_to_look
from voicelog.store.failures import explained
from voicelog.store.folder import (
    AUDIO_NAME,
    DATABASE_NAME,
    INCOMING_PREFIX,
    copy_file,
    require_log_folder,
    sync_names,
)
from voicelog.store.soundness import (
    Damage,
    KnownSound,
    OnBytes,
    find_database_damage,
    find_sound_damage,
    list_sounds,
)

_TRIES = 3
"""Sound may be removed or silenced, on record, while it is being copied."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """What a backup holds, as it was counted in the copy.

    Attributes:
        notes: how many notes.
        entries: how many entries, void ones too.
        acts: how many acts of review.
        recordings: how many recordings with their sound.
        growing: how many of them were still being recorded; they are copied as far as they were.
        size_bytes: how large it is.
        damage: the recordings that are not as the log knows them; they were copied as they are.
    """

    notes: int
    entries: int
    acts: int
    recordings: int
    growing: int
    size_bytes: int
    damage: tuple[Damage, ...]


def back_up(folder: Path, target: Path, *, on_bytes: OnBytes = lambda _count: None) -> Backup:
    """Copy a log into an empty folder, which is a log itself afterwards.

    The database is copied by SQLite's own backup as it stands at one moment, whoever writes
    to it meanwhile (https://www.sqlite.org/backup.html). Then come the recordings. Everything
    is brought to the disk and read again there: the database must be in order and hold as many
    rows as the log did, every recording must be the one that the log knows.

    Args:
        folder: the log's folder; nothing in it is changed.
        target: the empty folder.
        on_bytes: is told how much of the copied recordings was read again.

    Raises:
        UsageError: there is no log at this place.
        DiskFull: there is no room for the copy.
        StoreError: the log is damaged, or the copy did not become what the log is.
    """
    require_log_folder(folder)
    with explained(target):
        target.chmod(0o700)
        tries = 1
        while True:
            _empty(target)
            counted = _copy_database(folder, target)
            _copy_audio(folder / AUDIO_NAME, target / AUDIO_NAME)
            sounds = _list_sounds(target)
            found = (
                find_sound_damage(one, target / AUDIO_NAME, on_bytes=on_bytes) for one in sounds
            )
            damage = tuple(one for one in found if one is not None)
            # Of what was removed or silenced meanwhile, the log itself knows by now.
            if not damage or tries == _TRIES or _list_sounds(folder) == sounds:
                break
            tries += 1
        sync_names(target)
    there = [one for one in sounds if (target / AUDIO_NAME / one.file).is_file()]
    return Backup(
        notes=counted.get("notes", 0),
        entries=counted.get("entries", 0),
        acts=counted.get("acts", 0),
        recordings=len(there),
        growing=sum(not one.sha256 for one in there),
        size_bytes=sum(path.stat().st_size for path in target.rglob("*") if path.is_file()),
        damage=damage,
    )


def _copy_database(folder: Path, target: Path) -> Mapping[str, int]:
    """Copy the database, and return how many rows each of its tables has."""
    new = target / DATABASE_NAME
    # Made by us first: SQLite would make it readable for others.
    os.close(os.open(new, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600))
    with explained(folder), closing(connect_to_look(folder / DATABASE_NAME)) as log:
        # What is counted and what is copied is one and the same moment.
        log.execute("BEGIN")
        counted = _count_rows(log)
        with closing(sqlite3.connect(new, isolation_level=None)) as copy:
            log.backup(copy)
            # So that it can be read from a disk that can't be written.
            copy.execute("PRAGMA journal_mode = DELETE")
    with new.open("rb") as stream:
        os.fsync(stream.fileno())
    with closing(connect_to_look(new)) as copy:
        if damage := find_database_damage(copy):
            raise StoreError(
                f"The log {folder} was not backed up. {damage[0].message} Keep your earlier "
                "backups, and save what can be read with 'voicelog salvage'."
            )
        if _count_rows(copy) != counted:
            raise StoreError(
                f"The copy of {folder} does not hold what the log holds; check the disk that it "
                "was written to, then try again."
            )
    return counted


def _count_rows(database: sqlite3.Connection) -> Mapping[str, int]:
    tables = database.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    return {
        table: database.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]  # noqa: S608
        for (table,) in tables
    }


def _list_sounds(folder: Path) -> tuple[KnownSound, ...]:
    with explained(folder), closing(connect_to_look(folder / DATABASE_NAME)) as database:
        return list_sounds(database)


def _copy_audio(source: Path, target: Path) -> None:
    """Copy the recordings, and the journals by which a live session is taken up again."""
    target.mkdir(mode=0o700)
    for path in sorted(source.iterdir()) if source.is_dir() else ():
        if path.name.startswith(INCOMING_PREFIX) or not path.is_file():
            continue
        try:
            copy_file(path, target / path.name)
        except FileNotFoundError:
            continue  # It was removed, on record, since it was listed.
    sync_names(target)


def _empty(folder: Path) -> None:
    for path in folder.iterdir():
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()
