"""Sound of a note is read back from its place, however long the file before it."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from voicelog.errors import UnreadableRecording
from voicelog.session.live.recorder import Recorder
from voicelog.session.live.saved_sound import read_stretch
from voicelog.session.live.sources import Block


def test_a_stretch_of_a_growing_file_is_what_was_said_then(tmp_path: Path) -> None:
    """Also what no header claims yet; what isn't there is left out."""
    said = np.random.default_rng(5).integers(-9_000, 9_000, 48_000).astype(np.int16)
    with Recorder(tmp_path) as recorder:
        (piece,) = recorder.write(Block(samples=said, sample_rate_hz=16_000, at=time.monotonic()))
        path = tmp_path / str(piece.file)
        heard = read_stretch(path, start_s=1.0, end_s=2.5)
        assert np.array_equal(heard * 32768, said[16_000:40_000])
        assert len(read_stretch(path, start_s=2.5, end_s=60.0)) == 8_000
        assert len(read_stretch(path, start_s=50.0, end_s=60.0)) == 0


def test_a_file_of_another_make_is_refused(tmp_path: Path) -> None:
    """Its sound would be something else than the note's."""
    (tmp_path / "other.wav").write_bytes(bytes(5_000))
    with pytest.raises(UnreadableRecording, match=r"other\.wav was damaged meanwhile"):
        read_stretch(tmp_path / "other.wav", start_s=0.0, end_s=1.0)
