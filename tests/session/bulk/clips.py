"""Short recordings cut from the demo recordings: a few notes each, of the green book's end."""

from __future__ import annotations

import wave
from pathlib import Path
from typing import Any

import numpy as np

from voicelog.domain.entry import format_entry_record
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.recognition.segments import iter_segments
from voicelog.store.log import Log

DEMO = Path(__file__).parents[3] / "demo_data" / "recordings"
SILENCE_S = 0.9


def cut_clips(folder: Path, *, count: int, source: str = "3-green-book-end.flac") -> list[Path]:
    """Write the first notes of a demo recording as recordings of their own, in order."""
    clips = []
    for number, segment in zip(range(1, count + 1), iter_segments(DEMO / source), strict=False):
        clips.append(write_wav(folder / f"clip{number}.wav", segment.samples))
    return clips


def write_wav(path: Path, samples: Samples) -> Path:
    """Write sound with silence after it, in which a note can end."""
    padded = np.pad(samples, (0, round(SILENCE_S * SAMPLE_RATE_HZ)))
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(SAMPLE_RATE_HZ)
        out.writeframes((np.clip(padded, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def read_rows(log_folder: Path) -> list[Any]:
    """Return all that a log says of its notes and entries, less what is new in every log."""
    with Log.open(log_folder) as log:
        stored = list(log.iter_entries(include_void=True))
        notes = [
            (note.number, note.text, note.recording, note.start_s, note.end_s, note.words)
            for note in log.iter_notes()
        ]
    numbers = {entry.id: number for number, entry in stored}
    entries = [format_entry_record(entry, number=number) for number, entry in stored]
    for entry in entries:
        del entry["id"]
        entry["relations"] = [(one["kind"], numbers[one["id"]]) for one in entry["relations"]]
    return [notes, entries]
