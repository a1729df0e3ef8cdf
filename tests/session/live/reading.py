"""Reads what a session left behind, with other people's eyes: Python's own `wave`."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np

from voicelog.session.live.journal import Line, find_journals, read_journal
from voicelog.session.live.sources import Pcm


def read_wav(path: Path) -> Pcm:
    """Return the sound that the file's header claims, all of which must be there."""
    with wave.open(str(path), "rb") as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        assert file.getframerate() == 16_000
        content = file.readframes(file.getnframes())
        assert len(content) == 2 * file.getnframes()
    return np.frombuffer(content, dtype="<i2").astype(np.int16)


def read_all(folder: Path) -> Pcm:
    """Return the sound of all files of a folder, in order."""
    pieces = [read_wav(path) for path in sorted(folder.glob("*.wav"))]
    return np.concatenate([np.zeros(0, dtype=np.int16), *pieces])


def read_events(folder: Path) -> list[Line]:
    """Return all lines of the journals of a folder."""
    return [line for path in find_journals(folder) for line in read_journal(path)]
