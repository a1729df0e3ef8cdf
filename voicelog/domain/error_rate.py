"""How often entries that nothing was doubted of are wrong, from a blind sample."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import sqrt
from statistics import NormalDist
from types import MappingProxyType

CONFIDENCE = 0.95
"""Of the interval: in 95 of 100 samples it covers the true rate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorRate:
    """What a blind sample has shown.

    Attributes:
        judged: how many sampled entries a person has judged.
        wrong: how many of them had a wrong value.
        waiting: how many wait to be judged.
        fields: field to how many of the judged entries had it wrong.
    """

    judged: int
    wrong: int
    waiting: int
    fields: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def rate(self) -> float | None:
        """The share of wrong entries among those judged; None before the first one is."""
        return self.wrong / self.judged if self.judged else None

    @property
    def interval(self) -> tuple[float, float]:
        """Between which shares the true one lies, with 95 % confidence."""
        return wilson_interval(self.wrong, self.judged)


def wilson_interval(
    successes: int, trials: int, *, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Return the score interval of a share, lower and upper end, 0..1.

    E. B. Wilson, "Probable Inference, the Law of Succession, and Statistical Inference",
    Journal of the American Statistical Association 22 (1927), 209-212. It stays meaningful for
    small samples and for none wrong, where the usual normal interval has no width.

    Args:
        successes: how many were found.
        trials: among how many; with none, nothing is known.
        confidence: how often such intervals cover the true share.

    >>> [round(end, 4) for end in wilson_interval(0, 20)]
    [0.0, 0.1611]
    >>> wilson_interval(0, 0)
    (0.0, 1.0)
    """
    if trials == 0:
        return 0.0, 1.0
    z = NormalDist().inv_cdf(1 - (1 - confidence) / 2)
    share = successes / trials
    spread = z * sqrt(share * (1 - share) / trials + z**2 / (4 * trials**2))
    middle = share + z**2 / (2 * trials)
    scale = 1 + z**2 / trials
    low, high = (middle - spread) / scale, (middle + spread) / scale
    # At the ends the formula gives exactly 0 and 1, up to rounding.
    return 0.0 if successes == 0 else low, 1.0 if successes == trials else high
