# ruff: noqa: INP001  (a script beside its data, not a package)
"""Speak the demo notes into FLAC files, the same bytes every time.

    python demo_data/make_recordings.py [--out DIR]

Reads ``notes.toml`` and writes one recording per table: half a second of silence, the
notes with 1.2 s of silence between them, half a second of silence; FLAC, 16 kHz, mono,
16 bit. The recording's date, speaker and title go into FLAC comments. The voice is the
one that ships inside hibari-tts; install the ``demo-voice`` extra to have it.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
from hibari import SAMPLE_RATE as VOICE_RATE_HZ  # type: ignore[import-untyped]
from hibari import Hibari
from numpy.typing import NDArray

SAMPLE_RATE_HZ = 16_000
EDGE_SILENCE_S = 0.5
PAUSE_S = 1.2
PEAK = 0.7
HERE = Path(__file__).resolve().parent

Samples = NDArray[np.float32]
"""Mono sound at VOICE_RATE_HZ, shape (n,), in -1..1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """What one recording says, and who is supposed to have said it when."""

    file: str
    title: str
    handler: str
    recorded_at: str
    notes: tuple[str, ...]


def read_scripts(path: Path) -> tuple[Script, ...]:
    """Read every recording's script from a notes file."""
    tables = tomllib.loads(path.read_text(encoding="utf-8"))["recording"]
    return tuple(Script(**(table | {"notes": tuple(table["notes"])})) for table in tables)


def make_sound(notes: Iterable[str], *, speak: Callable[[str], Samples]) -> Samples:
    """Put the spoken notes one after another, with silence between and around them."""
    pause = _make_silence(PAUSE_S)
    parts = [_make_silence(EDGE_SILENCE_S)]
    for note in notes:
        parts += [speak(note), pause]
    parts[-1] = _make_silence(EDGE_SILENCE_S)
    sound = np.concatenate(parts)
    return np.asarray(sound * (PEAK / np.abs(sound).max()), dtype=np.float32)


def _make_silence(duration_s: float) -> Samples:
    return np.zeros(round(duration_s * VOICE_RATE_HZ), dtype=np.float32)


def write_flac(path: Path, sound: Samples, *, comments: dict[str, str]) -> None:
    """Write the sound as 16 kHz mono FLAC with the given comments."""
    frame = av.AudioFrame.from_ndarray(sound[np.newaxis, :], format="fltp", layout="mono")
    frame.sample_rate = VOICE_RATE_HZ
    resampler = av.AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE_HZ)
    # Without "bitexact" the file would name the encoder's version, and a newer PyAV
    # would change every file though the sound is the same.
    with av.open(path, "w", format="flac", options={"fflags": "+bitexact"}) as container:
        container.metadata.update(comments)
        stream = container.add_stream("flac", rate=SAMPLE_RATE_HZ, layout="mono")
        for block in (*resampler.resample(frame), *resampler.resample(None)):
            container.mux(stream.encode(block))
        container.mux(stream.encode(None))


def main() -> None:
    """Make every recording that notes.toml describes."""
    parser = argparse.ArgumentParser(description="Speak the demo notes into FLAC files.")
    parser.add_argument("--out", type=Path, default=HERE / "recordings")
    folder: Path = parser.parse_args().out
    folder.mkdir(parents=True, exist_ok=True)
    voice = Hibari()
    for script in read_scripts(HERE / "notes.toml"):
        # The seed fixes the voice's breath noise, which is random otherwise.
        sound = make_sound(script.notes, speak=lambda note: voice(note, seed=0))
        path = folder / script.file
        write_flac(
            path,
            sound,
            comments={
                "title": script.title,
                "artist": script.handler,
                "date": script.recorded_at,
                "comment": "Invented notes, spoken by a synthetic voice.",
            },
        )
        seconds = len(sound) / VOICE_RATE_HZ
        sys.stdout.write(f"{path.name}: {len(script.notes)} notes, {seconds:.0f} s\n")


if __name__ == "__main__":
    main()
