"""Sound of a note, read back from the file that it was saved in."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from voicelog.errors import UnreadableRecording
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.session.live.growing_wav import read_samples


def read_stretch(path: Path, *, start_s: float, end_s: float) -> Samples:
    """Return a stretch of a live recording; what the file doesn't hold is left out.

    However far from the beginning it lies, it takes no longer: a recogniser that has
    fallen behind must not fall behind more.

    Args:
        path: the recording; it may still be growing.
        start_s: where the stretch begins, in seconds.
        end_s: where it ends.

    Raises:
        UnreadableRecording: the file is none that a live session made.
        OSError: it can't be read.
    """
    first, last = round(start_s * SAMPLE_RATE_HZ), round(end_s * SAMPLE_RATE_HZ)
    pcm = read_samples(path, first=first, last=last)
    if pcm is None:
        raise UnreadableRecording(f"{path} was damaged meanwhile.", source=str(path))
    sound: Samples = pcm.astype(np.float32) / np.float32(32768)
    return sound
