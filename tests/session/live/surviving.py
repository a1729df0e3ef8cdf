"""What a killed session left: let sessions die, cut their power, check what survived."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import numpy as np
import pytest

from tests.session.live.doomed_process import make_speech
from tests.session.live.dooming import RATE_HZ, let_die, read_tally
from tests.session.live.reading import read_all, read_wav
from voicelog.recognition.audio import probe_recording
from voicelog.session.live.growing_wav import HEADER_BYTES
from voicelog.session.live.recovery import settle
from voicelog.store.folder import is_log_folder
from voicelog.store.writing import WritableLog


def cut_power(place: Path, *, headers_made_it: bool) -> None:
    """Put what a power cut leaves in the place of what a kill left.

    Args:
        place: where a session with a shadow disk was killed.
        headers_made_it: whether the latest header of each file reached the disk by
            itself, as the system may write what nobody has asked for yet.
    """
    shadow, audio = place / "shadow", place / "log" / "audio"
    if not audio.exists():
        return
    headers = {path.stat().st_ino: path.read_bytes()[:HEADER_BYTES] for path in audio.iterdir()}
    shutil.rmtree(audio)
    audio.mkdir()
    if not (shadow / "names").exists():
        return
    for line in (shadow / "names").read_text().splitlines():
        inode, name = line.split(" ", 1)
        kept = shadow / inode
        content = kept.read_bytes() if kept.exists() else b""
        if headers_made_it and name.endswith(".wav") and len(content) >= HEADER_BYTES:
            content = headers.get(int(inode), content[:HEADER_BYTES]) + content[HEADER_BYTES:]
        (audio / name).write_bytes(content)


def let_recorders_die(folder: Path, seeds: range, how: str) -> Path:
    """Let a recorder work for each seed, and end it by ``kill`` or ``power``."""
    return let_die("tests.session.live.doomed_process", folder, seeds, how)


def open_log(folder: Path) -> WritableLog:
    return WritableLog.open_to_write(folder, made_by="a test")


def check_what_survived(place: Path, seed: int) -> float:
    """Check everything that one killed session left; return the seconds that were lost."""
    tally, folder = read_tally(place), place / "log"
    if not is_log_folder(folder):
        assert tally.said == 0
        return 0.0
    audio = folder / "audio"
    speech = make_speech(seed)[: tally.said]
    untouched = read_all(audio)
    assert np.array_equal(untouched, speech[: len(untouched)])
    with open_log(folder) as log:
        settle(log)
        kept = read_all(audio)
        assert np.array_equal(kept, speech[: len(kept)])
        notes = list(log.iter_notes())
        assert [note.text for note in notes] == [f"note {nth + 1}" for nth in range(len(notes))]
        # The kill may come between storing a note and counting it.
        assert tally.notes <= len(notes) <= tally.notes + 1
        recordings = {recording.file: recording for recording in log.iter_recordings()}
        assert set(recordings) == {path.name for path in audio.glob("*.wav")}
        for recording in recordings.values():
            path = audio / recording.file
            assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
            assert recording.duration_s == pytest.approx(len(read_wav(path)) / RATE_HZ, abs=1e-3)
            if recording.duration_s:
                assert probe_recording(path).damage is None
        before = list(log.iter_recordings())
        settle(log)
        assert list(log.iter_recordings()) == before
    assert not list(audio.glob(".*"))
    return (len(speech) - len(kept)) / RATE_HZ
