"""How much each kind of evidence counts: a small table, measured and not guessed."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """Weights of two logistic models; each adds up weight times evidence.

    Attributes:
        closed: how each evidence speaks for the closed ear where the ears differ.
        right: how each evidence speaks for a word of the joined reading being right.
    """

    closed: Mapping[str, float]
    right: Mapping[str, float]


def load_weights() -> Weights:
    """Return the weights that voicelog ships; ``weights.toml`` says where they come from."""
    text = resources.files("voicelog.hearing").joinpath("weights.toml").read_text("utf-8")
    tables = tomllib.loads(text)
    return Weights(closed=tables["closed"], right=tables["right"])
