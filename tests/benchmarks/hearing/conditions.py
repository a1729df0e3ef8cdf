"""What can happen to speech between the mouth and the recogniser, made from a seed.

Noise is told as the ratio of the speech's mean power (silence left out) to its own.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from types import MappingProxyType

import numpy as np
from scipy.signal import butter, fftconvolve, sosfilt

from tests.recognition.noises import make_noise
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

CLEAN = "clean"
_BEFORE_S, _AFTER_S = 0.4, 0.6
_ROOM_DB = -70.0
_REVERBERATION_S = 0.5
_DIRECT_TO_REVERBERANT_DB = 3.0


def apply_condition(name: str, speech: Samples, *, seed: str) -> Samples:
    """Return speech, with a little of the room before and after it, in a condition.

    Args:
        name: one of :data:`CONDITIONS`.
        speech: mono, float32, 16 000 Hz; brought to a peak of 0.5 first.
        seed: what chance is drawn from; the same text gives the same sound.
    """
    peak = float(np.abs(speech).max()) or 1.0
    before, after = (np.zeros(round(s * SAMPLE_RATE_HZ)) for s in (_BEFORE_S, _AFTER_S))
    sound = np.concatenate([before, speech * (0.5 / peak), after]).astype(np.float32)
    # No microphone is ever quite silent.
    sound = (
        sound
        + make_noise(
            "pink noise",
            seconds=len(sound) / SAMPLE_RATE_HZ,
            level_db=_ROOM_DB,
            seed=zlib.crc32(f"room {seed}".encode()),
        )[: len(sound)]
    )
    spoilt = CONDITIONS[name](sound, zlib.crc32(f"{name} {seed}".encode()))
    result: Samples = np.clip(spoilt, -1.0, 1.0).astype(np.float32)
    return result


def _with_noise(kind: str, *, ratio_db: float) -> Callable[[Samples, int], Samples]:
    def add(sound: Samples, seed: int) -> Samples:
        noise = make_noise(kind, seconds=len(sound) / SAMPLE_RATE_HZ, level_db=-20, seed=seed)
        noise = np.resize(noise, len(sound))
        gain = np.sqrt(_speech_power(sound) / np.square(noise).mean() / 10 ** (ratio_db / 10))
        return sound + noise * gain

    return add


def _speech_power(sound: Samples) -> float:
    """Mean power of the tenths of a second that lie within 30 dB of the loudest one."""
    tenth = SAMPLE_RATE_HZ // 10
    blocks = sound[: len(sound) // tenth * tenth].reshape(-1, tenth)
    power = np.square(blocks).mean(axis=1)
    return float(power[power > power.max() / 1000].mean())


def _in_a_room(sound: Samples, seed: int) -> Samples:
    """An exponential tail of half a second, 3 dB weaker than the direct sound.

    60 dB are e to the -6.9: the definition of reverberation time (ISO 3382-1).
    """
    rng = np.random.default_rng(seed)
    count = round(_REVERBERATION_S * SAMPLE_RATE_HZ)
    tail = rng.standard_normal(count) * np.exp(-6.9 * np.arange(count) / count)
    tail *= 10 ** (-_DIRECT_TO_REVERBERANT_DB / 20) / np.sqrt(np.square(tail).sum())
    tail[0] = 1.0
    echoing = fftconvolve(sound, tail)[: len(sound)]
    result: Samples = echoing * (0.5 / np.abs(echoing).max())
    return result


def _by_telephone(sound: Samples, _seed: int) -> Samples:
    """300 to 3400 Hz, the telephone channel of ITU-T G.712 (from memory)."""
    band = butter(6, [300, 3400], "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    result: Samples = sosfilt(band, sound)
    return result


def _too_quiet(sound: Samples, _seed: int) -> Samples:
    """A peak of -46 dB against full scale, rounded to 16 bits: 80 steps either way."""
    quiet: Samples = np.round(sound * 0.01 * 32768) / 32768
    return quiet


def _clipped(sound: Samples, _seed: int) -> Samples:
    """Turned up 18 dB too far."""
    return np.clip(sound * 8, -1.0, 1.0)


CONDITIONS: MappingProxyType[str, Callable[[Samples, int], Samples]] = MappingProxyType(
    {
        CLEAN: lambda sound, _seed: sound,
        "noise 15 dB": _with_noise("pink noise", ratio_db=15),
        "noise 8 dB": _with_noise("pink noise", ratio_db=8),
        "hum": _with_noise("mains hum", ratio_db=8),
        "room echo": _in_a_room,
        "telephone": _by_telephone,
        "too quiet": _too_quiet,
        "clipped": _clipped,
    }
)
"""Name to what is done to the sound."""
