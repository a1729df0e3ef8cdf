"""Sound to be played: what a tone or a voice makes, and what plays it takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sound:
    """A short sound.

    Attributes:
        samples: mono, float32, shape (n,), in [-1, 1].
        sample_rate_hz: samples a second.
    """

    samples: npt.NDArray[np.float32]
    sample_rate_hz: int

    @property
    def duration_s(self) -> float:
        """How long it lasts."""
        return len(self.samples) / self.sample_rate_hz

    def at_volume(self, percent: int) -> Sound:
        """Return the sound softer: 100 leaves it as it is, 0 is silence."""
        return Sound(
            samples=(self.samples * np.float32(percent / 100)).astype(np.float32),
            sample_rate_hz=self.sample_rate_hz,
        )
