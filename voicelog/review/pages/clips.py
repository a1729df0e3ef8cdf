"""Clips: the sound of a note with a little of what was said around it, and how it looks."""

from __future__ import annotations

import io
import threading
import wave
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicelog.domain.note import Note
from voicelog.errors import UnreadableRecording
from voicelog.recognition.excerpt import read_excerpt
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

AROUND_S = 3.0
"""How much of the recording before and after the note a clip holds."""
LONGEST_S = 600.0
"""No clip is longer; a note is some seconds, so this only bounds a damaged log."""
_KEPT = 64
_COLUMNS = 480


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """A note's sound, ready to be played.

    Attributes:
        begins_s: where the clip begins, in seconds of the recording.
        duration_s: how long it is.
        wav: the sound as a WAV file: mono, 16 bits, 16 000 Hz.
        outline: the path of its waveform (SVG 2, section 9.3) in a box of 480 by 100.
    """

    begins_s: float
    duration_s: float
    wav: bytes
    outline: str


class Clips:
    """Cuts clips out of the recordings of a log and keeps the latest.

    What is kept is in memory only, and only for as long as the file stays as it is: sound
    that was taken out of a recording is not played from here any more.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], Clip] = OrderedDict()
        self._lock = threading.Lock()

    def find(self, audio_folder: Path, note: Note) -> Clip:
        """Return the clip of a note.

        Raises:
            UnreadableRecording: the note was typed, or its recording is not there any more.
        """
        if note.recording is None or note.start_s is None or note.end_s is None:
            raise UnreadableRecording(
                f"Note {note.number} was typed; there is no sound of it.", source=""
            )
        path = audio_folder / note.recording
        if path.parent != audio_folder or not path.is_file():
            raise UnreadableRecording(
                f"The recording {note.recording} is not in the log's audio folder; "
                "put it back there to hear it.",
                source=note.recording,
            )
        facts = path.stat()
        key = (path, facts.st_mtime_ns, facts.st_size, facts.st_ino, note.start_s, note.end_s)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        clip = _cut(path, start_s=note.start_s, end_s=note.end_s)
        with self._lock:
            self._kept[key] = clip
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return clip


def _cut(path: Path, *, start_s: float, end_s: float) -> Clip:
    begins_s = max(0.0, start_s - AROUND_S)
    samples = read_excerpt(
        path, start_s=begins_s, end_s=min(end_s + AROUND_S, begins_s + LONGEST_S)
    )
    return Clip(
        begins_s=round(begins_s, 3),
        duration_s=round(len(samples) / SAMPLE_RATE_HZ, 3),
        wav=_format_wav(samples),
        outline=format_outline(samples),
    )


def _format_wav(samples: Samples) -> bytes:
    stream = io.BytesIO()
    with wave.open(stream, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE_HZ)
        file.writeframes((samples * 32767).astype("<i2").tobytes())
    return stream.getvalue()


def format_outline(samples: Samples) -> str:
    """Return the loudness of a sound as an SVG path, mirrored about the middle.

    >>> format_outline(np.zeros(0, dtype=np.float32))
    'M0 50H480'
    """
    if not len(samples):
        return f"M0 50H{_COLUMNS}"
    columns: Sequence[Samples] = np.array_split(np.abs(samples), _COLUMNS)
    peaks = np.array([column.max() if len(column) else 0.0 for column in columns])
    # Speech is drawn as large as it goes, whatever the microphone's level; hum stays small.
    heights = 46 * peaks / max(float(peaks.max()), 0.05) + 1
    above = "".join(f"L{at} {50 - height:.0f}" for at, height in enumerate(heights))
    below = "".join(f"L{at} {50 + heights[at]:.0f}" for at in reversed(range(len(heights))))
    return f"M0 50{above}L{_COLUMNS} 50{below}Z"
