"""Features are normalised and spliced for training as vosk does it while it listens."""

from __future__ import annotations

import numpy as np
import pytest

from models.recipe.features import COEFFICIENTS, normalise, splice

FRAMES = np.random.default_rng(1).normal(5, 3, (900, COEFFICIENTS)).astype(np.float32)
GLOBAL_MEAN = np.full(COEFFICIENTS, 4, np.float32)


@pytest.mark.parametrize("frame", [0, 1, 250, 599, 600, 899])
def test_each_frame_loses_the_mean_of_the_last_six_seconds(frame: int) -> None:
    """Kaldi's OnlineCmvn by its definition.

    A window of 600 frames ends here, with up to 200 frames of the global mean for as long
    as it is not full.
    """
    window = FRAMES[max(0, frame - 599) : frame + 1].astype(np.float64)
    missing = min(200, 600 - len(window))
    mean = (window.sum(0) + missing * GLOBAL_MEAN) / (len(window) + missing)
    assert normalise(FRAMES, GLOBAL_MEAN)[frame] == pytest.approx(FRAMES[frame] - mean, abs=1e-4)


def test_what_was_heard_before_counts_as_if_it_were_in_the_window() -> None:
    """So that the model knows how it is after a minute as well as at the first word."""
    before = FRAMES[:400]
    whole = normalise(FRAMES[:600], GLOBAL_MEAN)[400:]
    later = normalise(FRAMES[400:600], GLOBAL_MEAN, history_frames=400, history_mean=before.mean(0))
    assert later == pytest.approx(whole, abs=1e-3)


def test_every_third_frame_is_taken_with_its_neighbours() -> None:
    """At the edges the first and last frames stand in for those that are not there."""
    numbered = np.repeat(np.arange(7, dtype=np.float32)[:, np.newaxis], COEFFICIENTS, axis=1)
    rows = splice(numbered, extra=1).reshape(-1, 5, COEFFICIENTS)[..., 0]
    assert rows.tolist() == [
        [0, 0, 0, 0, 0],
        [0, 0, 0, 1, 2],
        [1, 2, 3, 4, 5],
        [4, 5, 6, 6, 6],
        [6, 6, 6, 6, 6],
    ]
