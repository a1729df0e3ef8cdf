"""Keeping our own voice out of the notes, without losing a word of the handler's.

While the program speaks, what the microphone hears is held back. Afterwards it is
compared with what was spoken: where our voice is in it (a loudspeaker in the room), it is
not listened to; where it is not (a headset), the handler was speaking, and it is.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

TAIL_S = 0.4
"""How long a sound may be on its way: buffers of the sound card, the echo of a room."""

_LONGEST_DELAY = round(0.8 * SAMPLE_RATE_HZ)
_CHUNK = SAMPLE_RATE_HZ // 4
_PEAK = round(0.002 * SAMPLE_RATE_HZ)
# Measured with rooms of 0.3 s reverberation: echoes 17 and more, also 34 dB below the
# voice; echoes under somebody's speech 10 and more; speech of others 6.4 and less.
_ECHO = 8.5
_KEPT = 8


@dataclass(slots=True, kw_only=True, eq=False)
class _Spoken:
    samples: Samples
    began_at: float
    ended_at: float | None = None


class OwnVoice:
    """Knows when the program spoke, and finds it again in what the microphone heard."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._spoken: deque[_Spoken] = deque(maxlen=_KEPT)

    def begin(self, samples: Samples, *, at: float) -> None:
        """Our voice begins to sound.

        Args:
            samples: what it says, mono, float32, 16 000 Hz.
            at: the moment, in seconds of the monotonic clock.
        """
        with self._lock:
            self._spoken.append(_Spoken(samples=samples, began_at=at))

    def end(self, *, at: float) -> None:
        """Our voice has fallen silent."""
        with self._lock:
            if self._spoken and self._spoken[-1].ended_at is None:
                self._spoken[-1].ended_at = at

    def may_sound(self, first_at: float, last_at: float) -> bool:
        """Say whether our voice may be heard in the stretch between two moments."""
        with self._lock:
            return any(_overlaps(one, first_at, last_at) for one in self._spoken)

    def is_heard_in(self, samples: Samples, *, first_at: float) -> bool:
        """Say whether our voice is in what the microphone heard.

        Args:
            samples: mono, float32, 16 000 Hz.
            first_at: when its first sample was taken.
        """
        last_at = first_at + len(samples) / SAMPLE_RATE_HZ
        with self._lock:
            spoken = [one for one in self._spoken if _overlaps(one, first_at, last_at)]
        return any(
            echo_strength(samples, one.samples, offset_s=one.began_at - first_at) >= _ECHO
            for one in spoken
        )


def echo_strength(heard: Samples, spoken: Samples, *, offset_s: float) -> float:
    """Return how clearly an echo of ``spoken`` stands out in ``heard``; 1 is nothing.

    Each quarter second that was spoken is looked for by itself, by the generalised
    cross-correlation with phase transform (Knapp and Carter, 1976). An echo always comes
    after the same delay and adds up; other sound comes after a different one each time.

    Args:
        heard: what the microphone heard.
        spoken: what was played.
        offset_s: how much later the first sample of ``spoken`` was played than that of
            ``heard`` was taken.
    """
    total = np.zeros(_LONGEST_DELAY)
    count = 0
    offset = round(offset_s * SAMPLE_RATE_HZ)
    for start in range(max(0, -offset), len(spoken) - _CHUNK + 1, _CHUNK):
        chunk = spoken[start : start + _CHUNK]
        stretch = heard[start + offset : start + offset + _CHUNK + _LONGEST_DELAY]
        if len(stretch) > _CHUNK and chunk.any() and stretch.any():
            total += _correlation(stretch, chunk)
            count += 1
    if count == 0:
        return 0.0
    energy = np.convolve(np.square(total) / count, np.ones(_PEAK) / _PEAK, mode="valid")
    return float(energy.max())


def _correlation(stretch: Samples, chunk: Samples) -> npt.NDArray[np.float64]:
    """Return how well the chunk fits after each delay, with a mean square of 1."""
    size = 1 << (2 * _CHUNK + _LONGEST_DELAY).bit_length()
    cross = np.fft.rfft(stretch, size) * np.conj(np.fft.rfft(chunk, size))
    whitened = np.where(_speech_band(size), cross / np.maximum(np.abs(cross), 1e-12), 0)
    correlation: npt.NDArray[np.float64] = np.fft.irfft(whitened, size)[:_LONGEST_DELAY]
    scaled: npt.NDArray[np.float64] = correlation / np.sqrt(np.square(correlation).mean())
    return scaled


def _speech_band(size: int) -> npt.NDArray[np.bool_]:
    frequencies_hz = np.fft.rfftfreq(size, 1 / SAMPLE_RATE_HZ)
    # Speech has little above 6 kHz; whitening would give that little the weight of the rest.
    band: npt.NDArray[np.bool_] = (frequencies_hz > 150) & (frequencies_hz < 6000)
    return band


def _overlaps(one: _Spoken, first_at: float, last_at: float) -> bool:
    return one.began_at < last_at and (one.ended_at is None or first_at < one.ended_at + TAIL_S)
