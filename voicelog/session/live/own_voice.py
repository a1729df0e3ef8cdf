"""Keeping our own voice out of the notes, without losing a word of the handler's.

While the program speaks, what the microphone hears is held back. Afterwards it is
compared with what was spoken. Where our voice is in it (a loudspeaker in the room), that
stretch is not listened to; where it is not (a headset), the handler may be speaking.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

TAIL_S = 2.0
"""How long a sound may be on its way through the buffers of a sound server and the room."""

_ROOM_S = 0.35
"""How long a room goes on sounding (common practice, no published source)."""

_MARGIN_S = 0.05

# A sound server may swallow the beginning of a sound; the rest then seems to come early.
_EARLIEST = round(1.0 * SAMPLE_RATE_HZ)
_LATEST = round(TAIL_S * SAMPLE_RATE_HZ)
_CHUNK = SAMPLE_RATE_HZ // 4
_EDGE = round(1.5 * SAMPLE_RATE_HZ)
_PEAK = round(0.002 * SAMPLE_RATE_HZ)
# Measured with rooms of 0.3 s reverberation: echoes 69 and more, also 34 dB below full
# scale; where a sound server swallowed half of it, 20; speech of other people 9.6 and less.
_ECHO = 14.0
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

    def silence_in(self, samples: Samples, *, first_at: float) -> Samples:
        """Return what the microphone heard with silence where our voice is in it.

        Args:
            samples: mono, float32, 16 000 Hz.
            first_at: when its first sample was taken.
        """
        last_at = first_at + len(samples) / SAMPLE_RATE_HZ
        with self._lock:
            spoken = [one for one in self._spoken if _overlaps(one, first_at, last_at)]
        rest = samples.copy()
        for one in spoken:
            stretch = _find_stretch(samples, one, first_at=first_at)
            if stretch is not None:
                first, last = (round(at_s * SAMPLE_RATE_HZ) for at_s in stretch)
                rest[max(0, first) : max(0, last)] = 0
        return rest


def _find_stretch(heard: Samples, one: _Spoken, *, first_at: float) -> tuple[float, float] | None:
    """Return where in what was heard our voice begins and ends, in seconds; None if nowhere.

    A busy computer plays with gaps, so that the end may come later than the beginning was;
    each of the two is looked for by itself.
    """
    offset_s = one.began_at - first_at
    whole = find_echo(heard, one.samples, offset_s=offset_s)
    if whole.strength < _ECHO:
        return None
    delays_s = [whole.delay_s]
    last = max(0, len(one.samples) - _EDGE)
    for part, later_s in (
        (one.samples[:_EDGE], 0.0),
        (one.samples[last:], last / SAMPLE_RATE_HZ),
    ):
        edge = find_echo(heard, part, offset_s=offset_s + later_s)
        if edge.strength >= _ECHO:
            delays_s.append(edge.delay_s)
    ended_s = offset_s + len(one.samples) / SAMPLE_RATE_HZ
    if one.ended_at is not None:
        ended_s = max(ended_s, one.ended_at - first_at)
    return offset_s + min(delays_s) - _MARGIN_S, ended_s + max(0.0, *delays_s) + _ROOM_S


@dataclass(frozen=True, slots=True, kw_only=True)
class Echo:
    """What was found of a sound in another one.

    Attributes:
        strength: how clearly it stands out; 1 is nothing.
        delay_s: after how long it was heard.
    """

    strength: float
    delay_s: float


def find_echo(heard: Samples, spoken: Samples, *, offset_s: float) -> Echo:
    """Return how clearly, and after what delay, an echo of ``spoken`` is in ``heard``.

    Each quarter second that was spoken is looked for by itself, by the generalised
    cross-correlation with phase transform (Knapp and Carter, 1976). An echo always comes
    after the same delay and adds up; other sound comes after a different one each time.

    Args:
        heard: what the microphone heard.
        spoken: what was played.
        offset_s: how much later the first sample of ``spoken`` was played than that of
            ``heard`` was taken.
    """
    total = np.zeros(_EARLIEST + _LATEST)
    count = 0
    around = np.pad(heard, (_EARLIEST, _LATEST + _CHUNK))
    offset = round(offset_s * SAMPLE_RATE_HZ)
    for start in range(0, len(spoken) - _CHUNK + 1, _CHUNK):
        chunk = spoken[start : start + _CHUNK]
        first = start + offset
        stretch = around[max(0, first) : max(0, first + _EARLIEST + _LATEST + _CHUNK)]
        if 0 <= first <= len(heard) and chunk.any() and stretch.any():
            total += _correlation(stretch, chunk)
            count += 1
    if count == 0:
        return Echo(strength=0.0, delay_s=0.0)
    energy = np.convolve(np.square(total) / count, np.ones(_PEAK) / _PEAK, mode="valid")
    delay = int(energy.argmax()) - _EARLIEST
    return Echo(strength=float(energy.max()), delay_s=delay / SAMPLE_RATE_HZ)


def _correlation(stretch: Samples, chunk: Samples) -> npt.NDArray[np.float64]:
    """Return how well the chunk fits after each delay, with a mean square of 1."""
    size = 1 << (_EARLIEST + _LATEST + 2 * _CHUNK).bit_length()
    cross = np.fft.rfft(stretch, size) * np.conj(np.fft.rfft(chunk, size))
    whitened = np.where(_speech_band(size), cross / np.maximum(np.abs(cross), 1e-12), 0)
    correlation: npt.NDArray[np.float64] = np.fft.irfft(whitened, size)[: _EARLIEST + _LATEST]
    scaled: npt.NDArray[np.float64] = correlation / np.sqrt(np.square(correlation).mean())
    return scaled


def _speech_band(size: int) -> npt.NDArray[np.bool_]:
    frequencies_hz = np.fft.rfftfreq(size, 1 / SAMPLE_RATE_HZ)
    # Speech has little above 6 kHz; whitening would give that little the weight of the rest.
    band: npt.NDArray[np.bool_] = (frequencies_hz > 150) & (frequencies_hz < 6000)
    return band


def _overlaps(one: _Spoken, first_at: float, last_at: float) -> bool:
    return one.began_at < last_at and (one.ended_at is None or first_at < one.ended_at + TAIL_S)
