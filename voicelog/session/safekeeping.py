"""Bringing a recording into the log's own folder before anybody listens to it."""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from voicelog.errors import UnreadableRecording
from voicelog.store.failures import explained
from voicelog.store.folder import ARRIVING_PREFIX, INCOMING_PREFIX, sync_names

_BLOCK_BYTES = 1 << 20
_LONGEST_NAME = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """A complete copy of a recording, not yet under its name.

    Attributes:
        path: where it lies.
        sha256: the fingerprint of its bytes.
        size_bytes: its size.
    """

    path: Path
    sha256: str
    size_bytes: int


def fingerprint_file(path: Path) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal.

    Raises:
        OSError: it can't be read.
    """
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def copy_recording(source: Path, *, audio_folder: Path) -> Copy:
    """Copy a recording into the log's ``audio/`` and make sure that it is on the disk.

    Raises:
        DiskFull: there is no room; the unfinished copy is removed again.
        StoreError: the copy could not be written.
        UnreadableRecording: the source could not be read to its end.
    """
    path = audio_folder / f"{INCOMING_PREFIX}{uuid.uuid4().hex}"
    fingerprint = hashlib.sha256()
    size_bytes = 0
    with explained(audio_folder.parent):
        try:
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with source.open("rb") as incoming, os.fdopen(descriptor, "wb") as kept:
                while block := _read_block(incoming, source):
                    fingerprint.update(block)
                    size_bytes += len(block)
                    kept.write(block)
                kept.flush()
                os.fsync(kept.fileno())
        except BaseException:
            path.unlink(missing_ok=True)
            raise
    return Copy(path=path, sha256=fingerprint.hexdigest(), size_bytes=size_bytes)


def _read_block(incoming: BinaryIO, source: Path) -> bytes:
    try:
        return incoming.read(_BLOCK_BYTES)
    except OSError as failure:
        # Not the log's fault: the other recordings can still be taken in.
        raise UnreadableRecording(
            f"{source} can't be read to its end ({failure.strerror}); copy it from where it was "
            "recorded again.",
            source=str(source),
        ) from failure


def settle_copy(copy: Copy, *, original_name: str) -> Path:
    """Choose the name of a copy, one that no other recording has, and return its path.

    It lies there as soon as the log knows a recording of that name
    (:meth:`voicelog.store.writing.WritableLog.add_recording`), and never before.
    """
    folder = copy.path.parent
    with explained(folder.parent):
        target = folder / _free_name(original_name, folder)
        copy.path.rename(_arriving(target))
        # The new name is only certain once the folder itself is on the disk.
        sync_names(folder)
    return target


def make_safe_name(original_name: str) -> str:
    """Return a file name that every system and every player can live with.

    >>> make_safe_name("Green book, day 1 (morning).FLAC")
    'Green-book-day-1-morning.flac'
    >>> make_safe_name("../../etc/-rf")
    'rf'
    """
    name = Path(original_name)
    plain = unicodedata.normalize("NFKD", name.stem).encode("ascii", "ignore").decode("ascii")
    stem = re.sub(r"[^A-Za-z0-9._]+", "-", plain).strip("-._")[:_LONGEST_NAME]
    suffix = re.sub(r"[^a-z0-9.]", "", name.suffix.lower())[:8]
    return f"{stem or 'recording'}{suffix}"


def _free_name(original_name: str, folder: Path) -> str:
    wanted = Path(make_safe_name(original_name))
    name, nth = wanted.name, 1
    while (folder / name).exists() or _arriving(folder / name).exists():
        nth += 1
        name = f"{wanted.stem}-{nth}{wanted.suffix}"
    return name


def _arriving(target: Path) -> Path:
    return target.with_name(f"{ARRIVING_PREFIX}{target.name}")
