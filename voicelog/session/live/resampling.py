"""Sound of any rate, brought to 16 000 Hz as it comes in."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.live.sources import Pcm

NO_SOUND: Pcm = np.zeros(0, dtype=np.int16)


class StreamResampler:
    """Brings a stream of mono sound to 16 000 Hz; joins between blocks can't be heard."""

    def __init__(self, sample_rate_hz: int) -> None:
        self.sample_rate_hz = sample_rate_hz
        self._resampler: AudioResampler | None = None

    def push(self, samples: Pcm) -> Pcm:
        """Take some sound and return what is ready: about as much, a few ms later."""
        if self.sample_rate_hz == SAMPLE_RATE_HZ:
            return samples
        if self._resampler is None:
            self._resampler = AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE_HZ)
        frame = AudioFrame.from_ndarray(
            np.ascontiguousarray(samples).reshape(1, -1), format="s16", layout="mono"
        )
        frame.sample_rate = self.sample_rate_hz
        return _join(self._resampler.resample(frame))

    def finish(self) -> Pcm:
        """Return the last few ms and begin afresh with what comes next."""
        resampler, self._resampler = self._resampler, None
        return NO_SOUND if resampler is None else _join(resampler.resample(None))


def _join(frames: Iterable[AudioFrame]) -> Pcm:
    pieces = [frame.to_ndarray()[0] for frame in frames if frame.samples]
    return np.concatenate(pieces).astype(np.int16, copy=False) if pieces else NO_SOUND
