"""From evidence to likelihood: a small table of numbers, fitted once and shipped.

``calibration.toml`` is written by ``python -m tests.benchmarks.hearing.fit_doubt``, which says
on which speech. All its curves are monotone: more assurance never makes a value less likely.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Protocol

from voicelog.extraction.doubting.evidence import Evidence

_SUREST = 0.99
"""Above this a recogniser's own score says no more."""
_SCORES_ARE_CHANCES = frozenset({"both"})
"""Engines whose words carry a fitted chance of being right; see ``voicelog.hearing``."""
_LEAST, _MOST = 0.01, 0.999
"""Nothing is quite impossible, and nothing that was heard quite certain."""


class Calibration(Protocol):
    """Turns evidence into likelihood."""

    def likelihood(self, evidence: Evidence) -> float:
        """Return how likely a value is right, 0..1, by how its words were heard."""

    def confidence(self, grounds: Grounds) -> float:
        """Return how likely every field of an entry is right, 0..1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """What the confidence in an entry rests on.

    Attributes:
        unsure: the sum of -ln(likelihood) over the spans behind its values.
        least_sure: the largest of these.
        heard: whether a recogniser heard any of them; False where all was typed.
        not_understood: how many doubts say that words fit nothing.
        contradicted: how many other doubts there are.
        misplaced: how many values of an item stand with a leaf, as they do where the item
            itself was not heard.
    """

    unsure: float
    least_sure: float
    heard: bool
    not_understood: int
    contradicted: int
    misplaced: int


@dataclass(frozen=True, slots=True)
class FittedCalibration:
    """The shipped table.

    Attributes:
        values: weights of the evidence on a value, by engine.
        entries: weights of the grounds of an entry, for heard ones and for typed ones that
            nothing is doubtful about.
    """

    values: Mapping[str, Mapping[str, float]]
    entries: Mapping[str, Mapping[str, float]]

    def likelihood(self, evidence: Evidence) -> float:
        """Return how likely a value is right, 0..1, by how its words were heard.

        An engine that nobody measured is taken to be as reliable as whisper alone. Where a
        word's score is itself its chance of being right, no value is likelier than its words.
        """
        weights = self.values.get(evidence.engine, self.values["whisper"])
        likelihood = _probability(weigh(weights, describe_evidence(evidence)))
        if evidence.engine in _SCORES_ARE_CHANCES:
            likelihood = min(likelihood, evidence.weakest)
        return round(likelihood, 4)

    def confidence(self, grounds: Grounds) -> float:
        """Return how likely every field of an entry is right, 0..1.

        Words that fit nothing make an entry as suspect typed as heard.
        """
        is_plain = not grounds.not_understood and not grounds.contradicted
        weights = self.entries["typed" if is_plain and not grounds.heard else "heard"]
        return _probability(weigh(weights, describe_grounds(grounds)))


def describe_evidence(evidence: Evidence) -> Mapping[str, float]:
    """Return the evidence as named figures, each the better the higher it is."""
    return {
        "always": 1.0,
        f"a {evidence.family}": 1.0,
        "weakest word": _log_odds(min(evidence.weakest, _SUREST)),
        "sure of all words": -min(evidence.unsure, 5.0),
        "few words": -math.log(evidence.words),
        "other readings agree": evidence.support,
        "other readings of the note agree": evidence.likeness,
        "mean word of the note": _log_odds(min(evidence.mean_around, _SUREST)),
        "this voice is heard well": _log_odds(min(evidence.clarity, _SUREST)),
        "weakest word of the note": _log_odds(min(evidence.weakest_around, _SUREST)),
    }


def describe_grounds(grounds: Grounds) -> Mapping[str, float]:
    """Return the grounds as named figures, each the better the higher it is."""
    return {
        "always": 1.0,
        "sure of all values": _log_odds(_bounded(math.exp(-grounds.unsure))),
        "sure of the least sure": _log_odds(_bounded(math.exp(-grounds.least_sure))),
        "all understood": -min(grounds.not_understood, 3),
        "no contradiction": -min(grounds.contradicted, 3),
        "nothing misplaced": -min(grounds.misplaced, 2),
    }


def weigh(weights: Mapping[str, float], figures: Mapping[str, float]) -> float:
    """Return the weighted sum of named figures: log odds.

    >>> weigh({"always": 1.0, "weakest word": 0.5}, {"always": 1.0, "weakest word": 2.0})
    2.0
    """
    return sum(weights.get(name, 0.0) * figure for name, figure in figures.items())


@cache
def load_calibration() -> FittedCalibration:
    """Return the shipped table."""
    text = resources.files("voicelog.extraction.doubting").joinpath("calibration.toml").read_text()
    table = tomllib.loads(text)
    return FittedCalibration(
        values=MappingProxyType(table["value"]), entries=MappingProxyType(table["entry"])
    )


def _bounded(share: float) -> float:
    return min(max(share, 1 - _SUREST), _SUREST)


def _log_odds(share: float) -> float:
    return math.log(share / (1 - share))


def _probability(log_odds: float) -> float:
    return min(max(1 / (1 + math.exp(-log_odds)), _LEAST), _MOST)
