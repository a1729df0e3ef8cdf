"""Sound of a note, read back from the file that it was saved in."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples


def read_stretch(path: Path, *, start_s: float, end_s: float) -> Samples:
    """Return a stretch of a recording; what the file doesn't hold is left out.

    Args:
        path: the recording; it may still be growing.
        start_s: where the stretch begins, in seconds.
        end_s: where it ends.

    Raises:
        UnreadableRecording: nothing in the file can be decoded as sound.
    """
    first, last = round(start_s * SAMPLE_RATE_HZ), round(end_s * SAMPLE_RATE_HZ)
    parts: list[Samples] = [np.zeros(0, dtype=np.float32)]
    at = 0
    for block in iter_blocks(path):
        parts.append(block[max(0, first - at) : max(0, last - at)])
        at += len(block)
        if at >= last:
            break
    return np.concatenate(parts)
