"""Whether a log is as it was left: its database in order, every recording the one it knows.

Asked of the tables themselves, so that logs of every version can be looked at.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from voicelog.store.connection import connect_to_look
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME, require_log_folder

MOST_TOLD = 20
"""How many faults of a database are told; after that, nobody reads on."""

OnBytes = Callable[[int], None]
"""Is told how many more bytes of recordings were read."""


class Harm(StrEnum):
    """What is wrong with a part of a log."""

    DAMAGED = "damaged"
    MISSING = "missing"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """One thing in a log that is not as it was left.

    Attributes:
        harm: what is wrong.
        message: what exactly, in one sentence.
    """

    harm: Harm
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownSound:
    """What a log knows about the sound of a recording.

    Attributes:
        file: its name inside ``audio/``.
        sha256: fingerprint of its bytes; empty while it is being recorded.
        may_be_absent: whether it was removed on record, or stayed at another bench.
    """

    file: str
    sha256: str
    may_be_absent: bool


def find_log_damage(folder: Path, *, on_bytes: OnBytes = lambda _count: None) -> Iterator[Damage]:
    """Yield what is wrong with a log; all of it is read, and nothing is changed.

    Args:
        folder: the log's folder.
        on_bytes: is told how much of the recordings was read.

    Raises:
        UsageError: there is no log at this place.
    """
    require_log_folder(folder)
    try:
        with closing(connect_to_look(folder / DATABASE_NAME)) as database:
            yield from find_database_damage(database)
            sounds = list_sounds(database)
    except (sqlite3.Error, UnicodeDecodeError) as failure:
        yield _damaged(str(failure))
        return
    for sound in sounds:
        damage = find_sound_damage(sound, folder / AUDIO_NAME, on_bytes=on_bytes)
        if damage is not None:
            yield damage


def find_database_damage(database: sqlite3.Connection) -> tuple[Damage, ...]:
    """Return what is wrong with a database; every page of it is read.

    SQLite's own checks: https://www.sqlite.org/pragma.html#pragma_integrity_check and
    https://www.sqlite.org/pragma.html#pragma_foreign_key_check.

    Raises:
        sqlite3.Error: it can't be read at all.
    """
    database.execute("PRAGMA cell_size_check = ON")
    told = [
        str(row[0]).removeprefix("*** in database main ***").strip()
        for row in database.execute(f"PRAGMA integrity_check({MOST_TOLD})")
    ]
    wrong = [line for line in told if line != "ok"] or [
        f"a row of {table} points at a row of {parent} that is not there"
        for table, _, parent, _ in database.execute("PRAGMA foreign_key_check").fetchmany(MOST_TOLD)
    ]
    return tuple(_damaged(" ".join(line.split())) for line in dict.fromkeys(wrong))


def list_sounds(database: sqlite3.Connection) -> tuple[KnownSound, ...]:
    """Return what a log of whatever version knows about its recordings, in their order."""
    cursor = database.execute("SELECT * FROM recordings ORDER BY rowid")
    columns = [column[0] for column in cursor.description]
    rows = [dict(zip(columns, row, strict=True)) for row in cursor]
    elsewhere = _list_elsewhere(database)
    return tuple(
        KnownSound(
            file=row["file"],
            sha256=row["sha256"],
            may_be_absent=row.get("removed_at") is not None or row["file"] in elsewhere,
        )
        for row in rows
    )


def find_sound_damage(
    sound: KnownSound, audio_folder: Path, *, on_bytes: OnBytes = lambda _count: None
) -> Damage | None:
    """Return what is wrong with a recording's file, or None.

    What was removed on record, stayed at another bench, or is still being recorded is as it
    should be.
    """
    path = audio_folder / sound.file
    if not path.is_file():
        if sound.may_be_absent:
            return None
        return Damage(harm=Harm.MISSING, message=f"The recording {sound.file} is missing.")
    if not sound.sha256:
        return None
    try:
        sha256 = fingerprint(path, on_bytes=on_bytes)
    except OSError as failure:
        reason = (failure.strerror or str(failure)).lower()
        message = f"The recording {sound.file} can't be read ({reason})."
        return Damage(harm=Harm.DAMAGED, message=message)
    if sha256 != sound.sha256:
        message = f"The recording {sound.file} was changed after it was taken in."
        return Damage(harm=Harm.CHANGED, message=message)
    return None


def fingerprint(path: Path, *, on_bytes: OnBytes = lambda _count: None) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal."""
    sha256 = hashlib.sha256()
    with path.open("rb") as stream:
        while block := stream.read(1 << 20):
            sha256.update(block)
            on_bytes(len(block))
    return sha256.hexdigest()


def _list_elsewhere(database: sqlite3.Connection) -> frozenset[str]:
    """Return the recordings of which another bench has sent the notes."""
    asked = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'brought_notes'"
    if database.execute(asked).fetchone() is None:
        return frozenset()
    return frozenset(
        file
        for (file,) in database.execute(
            "SELECT DISTINCT recording FROM notes JOIN brought_notes ON note = notes.number "
            "WHERE recording IS NOT NULL"
        )
    )


def _damaged(why: str) -> Damage:
    return Damage(harm=Harm.DAMAGED, message=f"The database is damaged: {why.rstrip('.')}.")
