"""A few seconds out of a long recording, without decoding what stands before them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer

from voicelog.recognition.audio import mix_down, opened_recording, resample
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

# Formats that say of every packet at which sample it begins. In the others (MP3 above all) a
# decoder only estimates where it is after a leap, and the words would be off by seconds.
_EXACT = frozenset({"wav", "w64", "flac", "ogg", "mov,mp4,m4a,3gp,3g2,mj2", "matroska,webm"})
_RUN_UP_S = 0.5


def read_excerpt(path: Path, *, start_s: float, end_s: float) -> Samples:
    """Return a stretch of a recording; what the file doesn't hold is left out.

    Args:
        path: the recording, in any format that can be taken into a log.
        start_s: where the stretch begins, in seconds from the recording's start, from 0.
        end_s: where it ends.

    Returns:
        Mono sound at 16 000 Hz, float32, shape (n,), in [-1, 1].

    Raises:
        UnreadableRecording: the file is missing, or holds no sound.
    """
    first, last = round(start_s * SAMPLE_RATE_HZ), round(end_s * SAMPLE_RATE_HZ)
    parts: list[Samples] = [np.zeros(0, dtype=np.float32)]
    with opened_recording(path) as (container, stream):
        leaps = container.format.name in _EXACT and start_s > _RUN_UP_S
        if leaps:
            container.seek(round((start_s - _RUN_UP_S) * av.time_base))
        at: int | None = None if leaps else 0
        resampler = AudioResampler(format="fltp", rate=SAMPLE_RATE_HZ)
        for frame in _frames(container, stream):
            if at is None:
                at = round((frame.time or 0.0) * SAMPLE_RATE_HZ)
            frame.pts = None
            for channels in resample(resampler, frame):
                block = mix_down(channels)
                parts.append(block[max(0, first - at) : max(0, last - at)])
                at += len(block)
            if at >= last:
                break
    return np.concatenate(parts)


def _frames(container: InputContainer, stream: AudioStream) -> Iterator[AudioFrame]:
    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets, None)
        except (av.FFmpegError, ValueError):
            return
        if packet is None:
            return
        try:
            frames = packet.decode()
        except (av.FFmpegError, ValueError):
            continue  # What can be decoded around a damaged place is still worth hearing.
        yield from (one for one in frames if isinstance(one, AudioFrame) and one.samples)
