"""Sounds of a work room in which nobody speaks, made from a seed.

They are synthesised because no free recordings of such a room were at hand; real rooms
hold more than this.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

Wave = npt.NDArray[np.float64]

LEVELS_DB = (-60, -40, -25, -12)
"""Root mean square of the loudest tenth of a second, against full scale."""


def make_noise(kind: str, *, seconds: float, level_db: float, seed: int) -> Samples:
    """Return one kind of noise at one level."""
    rng = np.random.default_rng(seed)
    sound = KINDS[kind](round(seconds * SAMPLE_RATE_HZ), rng)
    tenth = SAMPLE_RATE_HZ // 10
    blocks = sound[: len(sound) // tenth * tenth].reshape(-1, tenth)
    loudest = np.sqrt(np.square(blocks).mean(axis=1)).max()
    if loudest > 0:
        sound = sound * (10 ** (level_db / 20) / loudest)
    result: Samples = np.clip(sound, -1.0, 1.0).astype(np.float32)
    return result


def _coloured(n: int, rng: np.random.Generator, *, slope: float) -> Wave:
    """Noise whose power falls with frequency to the given power."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    frequencies = np.maximum(np.fft.rfftfreq(n, 1 / SAMPLE_RATE_HZ), 20.0)
    return np.fft.irfft(spectrum * frequencies ** (-slope / 2), n)


def _band(n: int, rng: np.random.Generator, *, low_hz: float, high_hz: float) -> Wave:
    spectrum = np.fft.rfft(rng.normal(size=n))
    frequencies = np.fft.rfftfreq(n, 1 / SAMPLE_RATE_HZ)
    spectrum[(frequencies < low_hz) | (frequencies > high_hz)] = 0
    return np.fft.irfft(spectrum, n)


def _silence(n: int, rng: np.random.Generator) -> Wave:
    """Not quite nothing: the last bit of a 16-bit converter."""
    return rng.integers(-1, 2, n) / 32768


def _hum(n: int, rng: np.random.Generator) -> Wave:
    t = np.arange(n) / SAMPLE_RATE_HZ
    mains = np.stack(
        [np.sin(2 * np.pi * 50 * k * t + rng.uniform(0, 6)) / k for k in (1, 2, 3, 5, 7)]
    )
    hum: Wave = mains.sum(axis=0) + 0.02 * _coloured(n, rng, slope=1)
    return hum


def _events(
    n: int,
    rng: np.random.Generator,
    *,
    per_s: float,
    make: Callable[[np.random.Generator], Wave],
) -> Wave:
    sound = 0.002 * _coloured(n, rng, slope=1)
    for _ in range(round(per_s * n / SAMPLE_RATE_HZ)):
        event = make(rng)
        start = rng.integers(0, max(1, n - len(event)))
        sound[start : start + len(event)] += event[: n - start]
    return sound


def _click(rng: np.random.Generator) -> Wave:
    length = rng.integers(30, 400)
    return rng.normal(size=length) * np.exp(-np.arange(length) / (length / 6))


def _knock(rng: np.random.Generator) -> Wave:
    t = np.arange(3000) / SAMPLE_RATE_HZ
    return np.sin(2 * np.pi * rng.uniform(80, 400) * t) * np.exp(-t * rng.uniform(20, 60))


def _rustle(rng: np.random.Generator) -> Wave:
    """A leaf being turned: many small crackles under a slow swell."""
    n = int(rng.integers(6000, 24000))
    crackle = _band(n, rng, low_hz=1500, high_hz=7500) * rng.gamma(0.3, 2.0, n)
    return crackle * np.sin(np.linspace(0, np.pi, n)) ** rng.uniform(0.5, 3)


def _squeak(rng: np.random.Generator) -> Wave:
    """A chair: a gliding tone with overtones, much like a voiced sound."""
    n = rng.integers(3000, 12000)
    pitch_hz = np.linspace(rng.uniform(150, 900), rng.uniform(150, 900), n)
    phase = 2 * np.pi * np.cumsum(pitch_hz) / SAMPLE_RATE_HZ
    overtones = np.stack([np.sin(k * phase) / k for k in (1, 2, 3, 4)])
    squeak: Wave = overtones.sum(axis=0) * np.hanning(n)
    return squeak


def _tone(rng: np.random.Generator) -> Wave:
    n = rng.integers(1600, 5000)
    pitch_hz = rng.choice([440, 660, 880, 1320])
    tone: Wave = np.sin(2 * np.pi * pitch_hz * np.arange(n) / SAMPLE_RATE_HZ) * np.hanning(n)
    return tone


def _breath(rng: np.random.Generator) -> Wave:
    n = int(rng.integers(8000, 24000))
    return _band(n, rng, low_hz=300, high_hz=3500) * np.hanning(n)


def _fan(n: int, rng: np.random.Generator) -> Wave:
    t = np.arange(n) / SAMPLE_RATE_HZ
    return _coloured(n, rng, slope=1.5) * (1 + 0.5 * np.sin(2 * np.pi * 7 * t))


KINDS: MappingProxyType[str, Callable[[int, np.random.Generator], Wave]] = MappingProxyType(
    {
        "silence": _silence,
        "white noise": lambda n, rng: rng.normal(size=n),
        "pink noise": lambda n, rng: _coloured(n, rng, slope=1),
        "brown noise": lambda n, rng: _coloured(n, rng, slope=2),
        "mains hum": _hum,
        "fan": _fan,
        "clicks": lambda n, rng: _events(n, rng, per_s=2, make=_click),
        "knocks": lambda n, rng: _events(n, rng, per_s=1, make=_knock),
        "page rustle": lambda n, rng: _events(n, rng, per_s=0.5, make=_rustle),
        "chair squeaks": lambda n, rng: _events(n, rng, per_s=0.5, make=_squeak),
        "signal tones": lambda n, rng: _events(n, rng, per_s=0.7, make=_tone),
        "breath": lambda n, rng: _events(n, rng, per_s=0.4, make=_breath),
    }
)
