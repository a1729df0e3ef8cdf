"""Finding a quiet second, so that a new file never begins in the middle of a word."""

from __future__ import annotations

import numpy as np

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.live.sources import Pcm

_WINDOW_SAMPLES = SAMPLE_RATE_HZ // 4
_WINDOWS = 4
# Twice the amplitude of the quietest second so far (6 dB): the room's own noise varies
# by about that much, speech stands 10 dB and more above it (from our own recordings).
_AS_QUIET = 2.0
# Digital silence must not make every later noise a loud one: about -66 dB of full scale.
_NEVER_LOUD = 16.0


class QuietWatch:
    """Compares the latest second of sound with the quietest one so far."""

    def __init__(self) -> None:
        self._rest = np.zeros(0, dtype=np.int16)
        self._energies: list[float] = []
        self._quietest = float("inf")

    @property
    def is_quiet(self) -> bool:
        """Whether nobody seems to have spoken for a second."""
        if len(self._energies) < _WINDOWS:
            return False
        loudest = max(self._energies)
        return loudest <= max(_AS_QUIET * self._quietest, _NEVER_LOUD)

    def push(self, samples: Pcm) -> None:
        """Take the next sound."""
        sound = np.concatenate([self._rest, samples])
        whole = len(sound) // _WINDOW_SAMPLES * _WINDOW_SAMPLES
        self._rest = sound[whole:]
        for window in sound[:whole].astype(np.float64).reshape(-1, _WINDOW_SAMPLES):
            self._energies = [*self._energies[1 - _WINDOWS :], float(np.sqrt(np.mean(window**2)))]
            if len(self._energies) == _WINDOWS:
                self._quietest = min(self._quietest, max(self._energies))
