"""Whether speech into a microphone comes out clear, and what to do where it doesn't."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.recognition.speech import FRAME_SAMPLES, SpeechDetector

# Levels are in dB below full scale. Speech is commonly set at -26 (ITU-T P.56 gives the
# way to measure, -26 is common practice for speech material); 20 dB less is too far away.
_TOO_QUIET_DB = -46.0
# Less than this between voice and room, and recognisers begin to guess (common practice).
_CLEAR_ABOVE_NOISE_DB = 12.0
_SPEECH = 0.5
_ENOUGH_SPEECH_S = 0.4
# One sample in 2000 at the end of the scale: rarer peaks can't be heard.
_CLIPPED_SHARE = 0.0005
_FULL_SCALE = 0.999
# A digital silence: a muted input still rattles its lowest bit.
_NO_SOUND = 2.5 / 32768
_HUM_SHARE = 0.5
_MAINS_HZ = (50, 60)
_HARMONICS = 8
# A fifth of a second fits between two words and gives a line of the spectrum every 5 Hz,
# which mains of 50 and of 60 Hz both fall on.
_WINDOWS_IN_SECOND = 5
_NOISE_FLOOR_DB = -60.0


class Verdict(StrEnum):
    """What came of listening to somebody speak for a few seconds."""

    CLEAR = "clear"
    NOTHING = "nothing"
    CLIPPING = "clipping"
    HUM = "hum"
    NO_SPEECH = "no speech"
    TOO_QUIET = "too quiet"
    NOISY = "noisy"


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundCheck:
    """How clear speech was.

    Attributes:
        verdict: the one thing that matters most.
        speech_s: for how long somebody spoke.
        speech_db: how loud, or None where nobody spoke; 0 is full scale.
        noise_db: how loud it was otherwise, or None where there was no pause.
        hum_share: which part of that noise is mains hum, from 0 to 1.
    """

    verdict: Verdict
    speech_s: float
    speech_db: float | None
    noise_db: float | None
    hum_share: float


def check_sound(samples: Samples) -> SoundCheck:
    """Judge a few seconds in which somebody was asked to speak.

    Args:
        samples: mono, float32, shape (n,), 16 000 Hz, in [-1, 1].
    """
    whole = len(samples) // FRAME_SAMPLES * FRAME_SAMPLES
    frames = samples[:whole].reshape(-1, FRAME_SAMPLES)
    is_speech = SpeechDetector().probabilities(samples[:whole]) >= _SPEECH
    speech, noise = frames[is_speech], frames[~is_speech]
    speech_s = len(speech) * FRAME_SAMPLES / SAMPLE_RATE_HZ
    speech_db = _level_db(speech) if len(speech) else None
    noise_db = _level_db(noise) if len(noise) else None
    hum_share = _find_hum_share(samples[:whole], np.repeat(~is_speech, FRAME_SAMPLES))
    return SoundCheck(
        verdict=_judge(samples, speech_s, speech_db, noise_db, hum_share),
        speech_s=round(speech_s, 2),
        speech_db=speech_db,
        noise_db=noise_db,
        hum_share=round(hum_share, 2),
    )


def _judge(
    samples: Samples,
    speech_s: float,
    speech_db: float | None,
    noise_db: float | None,
    hum_share: float,
) -> Verdict:
    loudness = np.abs(samples)
    if not len(samples) or loudness.max() <= _NO_SOUND:
        return Verdict.NOTHING
    if np.mean(loudness >= _FULL_SCALE) >= _CLIPPED_SHARE:
        return Verdict.CLIPPING
    room_db = _NOISE_FLOOR_DB if noise_db is None else noise_db
    is_humming = hum_share >= _HUM_SHARE and room_db > _NOISE_FLOOR_DB
    if speech_db is None or speech_s < _ENOUGH_SPEECH_S:
        return Verdict.HUM if is_humming else Verdict.NO_SPEECH
    if speech_db < _TOO_QUIET_DB:
        return Verdict.TOO_QUIET
    if speech_db - room_db < _CLEAR_ABOVE_NOISE_DB:
        return Verdict.HUM if is_humming else Verdict.NOISY
    return Verdict.CLEAR


def _level_db(frames: npt.NDArray[np.float32]) -> float:
    power = float(np.mean(np.square(frames, dtype=np.float64)))
    return round(10 * math.log10(max(power, 1e-12)), 1)


def _find_hum_share(samples: Samples, is_noise: npt.NDArray[np.bool_]) -> float:
    """Return how much of the sound between the speech is mains hum.

    Measured where nobody speaks, so that a deep voice is no hum.
    """
    window = SAMPLE_RATE_HZ // _WINDOWS_IN_SECOND
    shares = []
    for start in range(0, len(samples) - window + 1, window // 2):
        if not is_noise[start : start + window].all():
            continue
        power = np.abs(np.fft.rfft(samples[start : start + window] * np.hanning(window))) ** 2
        total = float(power[1:].sum())
        if total > 0:
            shares.append(max(_share_of_mains(power, mains_hz) for mains_hz in _MAINS_HZ) / total)
    return float(np.median(shares)) if shares else 0.0


def _share_of_mains(power: npt.NDArray[np.float64], mains_hz: int) -> float:
    # The window spreads a tone over three lines of the spectrum.
    lines = mains_hz * np.arange(1, _HARMONICS + 1) // _WINDOWS_IN_SECOND
    return float(sum(power[line - 1 : line + 2].sum() for line in lines))
