"""Making clean speech sound like a workroom: rooms, microphones, noise, voices behind."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.signal import fftconvolve, firwin2, lfilter, resample_poly

SAMPLE_RATE_HZ = 16_000
Sound = npt.NDArray[np.float64]


def spoil(speech: Sound, draw: np.random.Generator, others: Sequence[Sound]) -> Sound:
    """Return speech as a microphone in a room might have it, in the range of 16-bit numbers.

    Args:
        speech: mono, 16 000 Hz, any level.
        draw: what is done to it is drawn from here.
        others: speech of others, for voices in the background.
    """
    sound = speech
    if draw.random() < 0.6:
        before, after = draw.integers(0, 9_600, 2)
        sound = np.concatenate([np.zeros(before), sound, np.zeros(after)])
    if draw.random() < 0.4:
        sound = fftconvolve(sound, make_room(draw))[: len(sound)]
    if draw.random() < 0.5:
        sound = np.convolve(sound, _make_equaliser(draw), "same")
    if draw.random() < 0.08:
        sound = resample_poly(resample_poly(sound, 1, 2), 2, 1)[: len(sound)]
    strength = np.sqrt(np.square(sound).mean()) + 1e-9
    if others and draw.random() < 0.15:
        noise = _make_babble(len(sound), draw, others)
        ratio_db = draw.uniform(12, 35)
    else:
        noise = make_noise(len(sound), draw)
        ratio_db = draw.uniform(5, 55)
    noise /= np.sqrt(np.square(noise).mean()) + 1e-9
    sound = sound + noise * strength * 10 ** (-ratio_db / 20)
    peak = 32_767 * 10 ** (draw.uniform(-30, 0) / 20)
    sound = sound * peak / (np.abs(sound).max() + 1e-9)
    if draw.random() < 0.04:
        sound = sound * 3
    return np.clip(np.round(sound), -32_768, 32_767)


def change_speed(sound: Sound, factor: float) -> Sound:
    """Return a sound played faster (above 1) or slower, pitch included."""
    count = int(len(sound) / factor)
    return np.interp(np.arange(count) * factor, np.arange(len(sound)), sound)


def make_room(draw: np.random.Generator) -> Sound:
    """Return a room's response: an exponential tail of 0.08 to 0.6 s behind the direct sound."""
    reverberation_s = draw.uniform(0.08, 0.6)
    count = int(reverberation_s * SAMPLE_RATE_HZ)
    # 60 dB are e to the -6.9: the definition of reverberation time (ISO 3382-1).
    tail = draw.standard_normal(count) * np.exp(-6.9 * np.arange(count) / count)
    tail *= draw.uniform(0.05, 0.5) / (np.sqrt(np.square(tail).sum()) + 1e-9)
    tail[: draw.integers(20, 200)] *= 0.1
    tail[0] = 1
    return np.asarray(tail)


def make_noise(count: int, draw: np.random.Generator) -> Sound:
    """Return one of: hiss, rumble, room tone, mains hum, a rustle that comes and goes."""
    white = draw.standard_normal(count)
    match draw.integers(5):
        case 0:
            return white
        case 1:
            return np.asarray(lfilter([1], [1, -0.97], white))
        case 2:
            return np.asarray(lfilter([1], [1, -0.85], white))
        case 3:
            times = np.arange(count) / SAMPLE_RATE_HZ
            mains_hz = draw.choice([50, 60])
            hum = sum(
                np.sin(2 * np.pi * mains_hz * harmonic * times + draw.uniform(0, 6)) / harmonic
                for harmonic in range(1, 8)
            )
            return np.asarray(0.2 * white + hum)
        case _:
            swell = np.abs(lfilter([1], [1, -0.9995], draw.standard_normal(count)))
            return np.asarray(lfilter([1], [1, -0.9], white) * swell)


def _make_equaliser(draw: np.random.Generator) -> Sound:
    bands = [0, 0.03, 0.08, 0.15, 0.3, 0.5, 0.75, 1]
    gains_db = np.clip(draw.standard_normal(len(bands)) * 5, -12, 10)
    return np.asarray(firwin2(65, bands, 10 ** (gains_db / 20)))


def _make_babble(count: int, draw: np.random.Generator, others: Sequence[Sound]) -> Sound:
    voices = [others[draw.integers(len(others))] for _ in range(draw.integers(1, 5))]
    return np.asarray(sum(np.resize(voice, count) * draw.uniform(0.3, 1) for voice in voices))
