"""Finding a pause, so that a new file never begins in the middle of a word."""

from __future__ import annotations

from collections import deque

import numpy as np

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.live.sources import Pcm

_WINDOW_SAMPLES = SAMPLE_RATE_HZ // 20
# Three quarters of a second: longer than the pause that ends a note as shipped.
_PAUSE_WINDOWS = 15
# Twice the amplitude of the quietest pause so far (6 dB): the room's own noise varies
# by about that much, speech stands 10 dB and more above it (from our own recordings).
_AS_QUIET = 2.0
# Digital silence must not make every later noise a loud one: about -66 dB of full scale.
_NEVER_LOUD = 16.0


class QuietWatch:
    """Compares the latest three quarters of a second with the quietest ones so far."""

    def __init__(self) -> None:
        self._rest = np.zeros(0, dtype=np.int16)
        self._levels: deque[float] = deque(maxlen=_PAUSE_WINDOWS)
        self._quietest = float("inf")

    @property
    def is_quiet(self) -> bool:
        """Whether nobody seems to have spoken for three quarters of a second."""
        if len(self._levels) < _PAUSE_WINDOWS:
            return False
        return max(self._levels) <= max(_AS_QUIET * self._quietest, _NEVER_LOUD)

    def push(self, samples: Pcm) -> None:
        """Take the next sound."""
        sound = np.concatenate([self._rest, samples])
        whole = len(sound) // _WINDOW_SAMPLES * _WINDOW_SAMPLES
        self._rest = sound[whole:]
        windows = sound[:whole].astype(np.float64).reshape(-1, _WINDOW_SAMPLES)
        for level in np.sqrt(np.square(windows).mean(axis=1)):
            self._levels.append(float(level))
            if len(self._levels) == _PAUSE_WINDOWS:
                self._quietest = min(self._quietest, max(self._levels))
