"""A WAV file that is whole at every instant while it grows.

The header never claims more than is certainly on the disk: at each :meth:`GrowingWav.sync`
the sound is brought to the disk first, and only then is its length written into the
header. A reader finds a valid file whenever it looks; :func:`mend_wav` adds what was
written behind the last sync before the process or the machine died.

The file is a Broadcast WAV (EBU Tech 3285, version 1): its ``bext`` chunk says when it
began, so that it speaks for itself even outside its log.
"""

from __future__ import annotations

import errno
import os
import struct
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Self

import numpy as np

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.live.sources import Pcm
from voicelog.store.folder import INCOMING_PREFIX

Sync = Callable[[int], None]
"""Brings what was written to an open file to the disk: ``os.fsync``."""

SAMPLE_BYTES = 2
# EBU Tech 3285 v1, section 2.3: the fixed part of the chunk, without a coding history.
_BEXT = struct.Struct("<256s32s32s10s8sIIH64s190s")
# RIFF WAVE, "fmt " of plain PCM: format 1, channels, rate, bytes a second, bytes a
# sample, bits (Microsoft, "Multimedia Programming Interface and Data Specifications 1.0").
_FORMAT = struct.pack(
    "<HHIIHH", 1, 1, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ * SAMPLE_BYTES, SAMPLE_BYTES, 8 * SAMPLE_BYTES
)
_BEFORE_BEXT = b"WAVEbext" + struct.pack("<I", _BEXT.size)
_BEHIND_BEXT = b"fmt " + struct.pack("<I", len(_FORMAT)) + _FORMAT + b"data"
HEADER_BYTES = 8 + len(_BEFORE_BEXT) + _BEXT.size + len(_BEHIND_BEXT) + 4
"""Where the sound begins in a file of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WavFacts:
    """What is in a WAV file of ours.

    Attributes:
        samples: how many samples it holds.
        size_bytes: its size.
    """

    samples: int
    size_bytes: int

    @property
    def duration_s(self) -> float:
        """How long it lasts."""
        return round(self.samples / SAMPLE_RATE_HZ, 4)


class GrowingWav:
    """One file of 16 kHz mono 16 bit sound, being written."""

    def __init__(self, path: Path, descriptor: int, header: bytes, *, sync: Sync) -> None:
        self.path = path
        self.samples = 0
        self._descriptor = descriptor
        self._header = header
        self._sync = sync
        self._synced_samples = 0

    @classmethod
    def create(cls, path: Path, *, began_at: datetime, sync: Sync = os.fsync) -> Self:
        """Make a new file without sound; it appears under its name already whole.

        Raises:
            OSError: it can't be made, or the name is taken.
        """
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
        unready = path.parent / f"{INCOMING_PREFIX}{uuid.uuid4().hex}"
        descriptor = os.open(unready, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
        header = _make_header(path.name, began_at)
        try:
            _write_all(descriptor, header)
            sync(descriptor)
            unready.rename(path)
            sync_folder(path.parent, sync=sync)
        except BaseException:
            os.close(descriptor)
            unready.unlink(missing_ok=True)
            raise
        return cls(path, descriptor, header, sync=sync)

    @property
    def duration_s(self) -> float:
        """How much sound was given to it so far."""
        return self.samples / SAMPLE_RATE_HZ

    @property
    def unsynced_s(self) -> float:
        """How much of it a power cut would take."""
        return (self.samples - self._synced_samples) / SAMPLE_RATE_HZ

    def append(self, samples: Pcm) -> None:
        """Hand sound to the system at once; from here a killed process can't lose it.

        Raises:
            OSError: it can't be written; what was written is cut to whole samples.
        """
        try:
            _write_all(self._descriptor, samples.astype("<i2", copy=False).tobytes())
        except OSError:
            there = os.fstat(self._descriptor).st_size - HEADER_BYTES
            self.cut_to(max(0, there) // SAMPLE_BYTES)
            raise
        self.samples += len(samples)

    def sync(self) -> None:
        """Bring the sound to the disk, then say in the header how much there is."""
        samples = self.samples
        if samples == self._synced_samples:
            return
        self._sync(self._descriptor)
        _write_lengths(self._descriptor, self._header, samples)
        self._synced_samples = samples

    def cut_to(self, samples: int) -> None:
        """Forget the sound behind a sample; the header is shortened before the file is."""
        kept = min(samples, self._synced_samples)
        _write_lengths(self._descriptor, self._header, kept)
        os.ftruncate(self._descriptor, HEADER_BYTES + samples * SAMPLE_BYTES)
        os.lseek(self._descriptor, 0, os.SEEK_END)
        self.samples = samples
        self._synced_samples = kept

    def close(self) -> WavFacts:
        """Bring everything to the disk, the header too, and close the file."""
        try:
            self.sync()
            self._sync(self._descriptor)
        finally:
            os.close(self._descriptor)
        return WavFacts(samples=self.samples, size_bytes=HEADER_BYTES + self.samples * SAMPLE_BYTES)


def mend_wav(path: Path) -> WavFacts | None:
    """Make the header of a file that was being written name all the sound that is there.

    The sound itself is not touched, but for half a sample at the very end.

    Returns:
        what is in the file, or None where it isn't one of ours.
    """
    descriptor = os.open(path, os.O_RDWR | os.O_CLOEXEC)
    try:
        size_bytes = os.fstat(descriptor).st_size
        header = os.pread(descriptor, HEADER_BYTES, 0)
        if not _is_ours(header):
            return None
        samples = (size_bytes - HEADER_BYTES) // SAMPLE_BYTES
        whole_bytes = HEADER_BYTES + samples * SAMPLE_BYTES
        if whole_bytes != size_bytes:
            os.ftruncate(descriptor, whole_bytes)
        if header != _with_lengths(header, samples):
            _write_lengths(descriptor, header, samples)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    return WavFacts(samples=samples, size_bytes=whole_bytes)


def read_samples(path: Path, *, first: int, last: int) -> Pcm | None:
    """Return some samples of a file of ours, without reading what lies before them.

    Args:
        path: the file; it may still be growing.
        first: the first sample wanted.
        last: the sample after the last one; what isn't there is left out.

    Returns:
        the samples, or None where the file isn't one of ours.

    Raises:
        OSError: it can't be read.
    """
    with path.open("rb") as file:
        if not _is_ours(file.read(HEADER_BYTES)):
            return None
        file.seek(HEADER_BYTES + first * SAMPLE_BYTES)
        content = file.read(max(0, last - first) * SAMPLE_BYTES)
    whole = len(content) // SAMPLE_BYTES * SAMPLE_BYTES
    return np.frombuffer(content[:whole], dtype="<i2").astype(np.int16)


def sync_folder(folder: Path, *, sync: Sync = os.fsync) -> None:
    """Make sure that the names in a folder are on the disk."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        sync(descriptor)
    finally:
        os.close(descriptor)


def _make_header(name: str, began_at: datetime) -> bytes:
    description = f"Spoken notes; began {began_at.isoformat(timespec='milliseconds')}"
    began = _BEXT.pack(
        description.encode("ascii"),
        b"voicelog",
        name.encode("ascii", "replace")[:32],
        began_at.strftime("%Y-%m-%d").encode("ascii"),
        began_at.strftime("%H:%M:%S").encode("ascii"),
        0,  # TimeReference, low and high word: not counted in samples.
        0,
        1,
        b"",
        b"",
    )
    return _with_lengths(b"RIFF\0\0\0\0" + _BEFORE_BEXT + began + _BEHIND_BEXT + bytes(4), 0)


def _is_ours(header: bytes) -> bool:
    return (
        len(header) == HEADER_BYTES
        and header.startswith(b"RIFF")
        and header[8:].startswith(_BEFORE_BEXT)
        and header[:-4].endswith(_BEHIND_BEXT)
    )


def _with_lengths(header: bytes, samples: int) -> bytes:
    length = samples * SAMPLE_BYTES
    whole = struct.pack("<I", HEADER_BYTES - 8 + length)
    return header[:4] + whole + header[8:-4] + struct.pack("<I", length)


def _write_lengths(descriptor: int, header: bytes, samples: int) -> None:
    # Written in one call, so that no kill can come between the two lengths in it.
    os.pwrite(descriptor, _with_lengths(header, samples), 0)


def _write_all(descriptor: int, content: bytes) -> None:
    rest = memoryview(content)
    while rest:
        rest = rest[os.write(descriptor, rest) :]
