"""Makes recordings in the formats that recorders write, through PyAV itself."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream

from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

HERE = Path(__file__).parent
SPOKEN_NOTES = HERE / "sounds" / "spoken_notes.flac"
SPOKEN_LINES = tuple(
    (HERE / "sounds" / "spoken_notes.txt").read_text(encoding="utf-8").splitlines()
)


def read_sound(path: Path) -> Samples:
    """Return the whole recording as mono sound at 16 000 Hz."""
    return np.concatenate(list(iter_blocks(path)))


def write_recording(
    path: Path,
    samples: Samples,
    *,
    codec: str = "pcm_s16le",
    rate_hz: int = SAMPLE_RATE_HZ,
    layout: str = "mono",
) -> Path:
    """Write sound at 16 000 Hz, shape (n,) or (channels, n), as a recording."""
    channels = np.atleast_2d(samples).astype(np.float32)
    given = "mono" if len(channels) == 1 else layout
    frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(channels), "fltp", layout=given)
    frame.sample_rate = SAMPLE_RATE_HZ
    with av.open(path, "w") as container:
        stream = container.add_stream(codec, rate=rate_hz, layout=layout)
        assert isinstance(stream, AudioStream)
        resampler = av.AudioResampler(
            format=stream.format.name,
            layout=layout,
            rate=rate_hz,
            frame_size=stream.codec_context.frame_size or 4096,
        )
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            container.mux(stream.encode(piece))
        container.mux(stream.encode(None))
    return path


def make_tone(*, seconds: float, pitch_hz: float = 440.0, level: float = 0.3) -> Samples:
    """Return a plain tone at 16 000 Hz."""
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (level * np.sin(2 * np.pi * pitch_hz * t)).astype(np.float32)


def find_pitch_hz(samples: Samples) -> float:
    """Return the strongest frequency in the sound."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(spectrum.argmax() * SAMPLE_RATE_HZ / len(samples))
