"""The five tones: what the handler hears instead of looking at the screen.

They differ in more than one way, so that nobody has to know pitches: in how many pulses
they have, in height, and in whether they rise or fall. They are short sines in which the
speech detector hears no speech, so that a microphone may hear them while somebody speaks.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from voicelog.session.live.sounds import Sound

TONE_RATE_HZ = 48_000
"""What every sound card can play."""

_EDGE_S = 0.008
"""A tone that begins or ends at once would click."""

_LEVEL = 0.6


class Tone(StrEnum):
    """What a tone says. The tone for pausing falls; for resuming the same one rises."""

    TAKEN_DOWN = "taken down"
    DOUBTFUL = "doubtful"
    COMMAND_DONE = "command done"
    PAUSED = "paused"
    RESUMED = "resumed"
    TROUBLE = "trouble"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """One stretch of a tone.

    Attributes:
        frequency_hz: its pitch.
        duration_s: how long it sounds.
        gap_s: the silence after it.
    """

    frequency_hz: float
    duration_s: float
    gap_s: float = 0.04


# Nothing below 800 Hz: there the detector takes a whistle for a voice (measured: up to
# 0.85 at 440 Hz, never more than 0.25 at these pitches, at any level). The pitches are
# just intervals on A5 = 880 Hz (A4 = 440 Hz, ISO 16:1975).
PULSES: dict[Tone, tuple[Pulse, ...]] = {
    Tone.TAKEN_DOWN: (Pulse(frequency_hz=1760, duration_s=0.09),),
    Tone.DOUBTFUL: (
        Pulse(frequency_hz=880, duration_s=0.2),
        Pulse(frequency_hz=825, duration_s=0.3),
    ),
    Tone.COMMAND_DONE: tuple(Pulse(frequency_hz=1320, duration_s=0.05) for _ in range(3)),
    Tone.PAUSED: tuple(
        Pulse(frequency_hz=pitch, duration_s=0.14, gap_s=0.02) for pitch in (1760, 1320, 1100, 880)
    ),
    Tone.RESUMED: tuple(
        Pulse(frequency_hz=pitch, duration_s=0.14, gap_s=0.02) for pitch in (880, 1100, 1320, 1760)
    ),
    Tone.TROUBLE: tuple(Pulse(frequency_hz=pitch, duration_s=0.12) for pitch in (1320, 990) * 4),
}


def make_tone(tone: Tone) -> Sound:
    """Return a tone, ready to be played.

    >>> round(make_tone(Tone.TAKEN_DOWN).duration_s, 2)
    0.09
    """
    parts: list[npt.NDArray[np.float64]] = []
    for pulse in PULSES[tone]:
        parts += [_make_pulse(pulse), np.zeros(round(pulse.gap_s * TONE_RATE_HZ))]
    return Sound(samples=np.concatenate(parts[:-1]).astype(np.float32), sample_rate_hz=TONE_RATE_HZ)


def _make_pulse(pulse: Pulse) -> npt.NDArray[np.float64]:
    time_s = np.arange(round(pulse.duration_s * TONE_RATE_HZ)) / TONE_RATE_HZ
    wave = _LEVEL * np.sin(2 * np.pi * pulse.frequency_hz * time_s)
    edge = round(_EDGE_S * TONE_RATE_HZ)
    # Half a cosine in, half a cosine out (a Tukey window).
    rise = (1 - np.cos(np.pi * np.arange(edge) / edge)) / 2
    wave[:edge] *= rise
    wave[-edge:] *= rise[::-1]
    return wave
