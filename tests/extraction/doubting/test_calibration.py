"""The shipped table: more assurance never makes anything less likely."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.extraction.doubting.calibration import Grounds, load_calibration
from voicelog.extraction.doubting.evidence import LEAST_SURE, Evidence, Family

SHARES = st.floats(LEAST_SURE, 1.0)
ENGINES = st.sampled_from([*load_calibration().values, "a plug-in's"])


@st.composite
def evidence(draw: st.DrawFn) -> Evidence:
    weakest = draw(SHARES)
    return Evidence(
        engine=draw(ENGINES),
        family=draw(st.sampled_from(Family)),
        weakest=weakest,
        unsure=draw(st.floats(0.0, 20.0)),
        words=draw(st.integers(1, 40)),
        support=draw(st.floats(0.0, 1.0)),
        likeness=draw(st.floats(0.0, 1.0)),
        weakest_around=draw(st.floats(LEAST_SURE, weakest)),
        mean_around=draw(SHARES),
        clarity=draw(SHARES),
    )


@given(given=evidence(), better=SHARES)
def test_a_value_is_never_less_likely_for_being_better_heard(
    given: Evidence, better: float
) -> None:
    calibration = load_calibration()
    before = calibration.likelihood(given)
    improved: list[dict[str, Any]] = [
        {"weakest": max(better, given.weakest)},
        {"unsure": given.unsure * better},
        {"support": max(better, given.support)},
        {"likeness": max(better, given.likeness)},
        {"weakest_around": max(better, given.weakest_around)},
        {"mean_around": max(better, given.mean_around)},
        {"clarity": max(better, given.clarity)},
    ]
    assert 0 < before < 1
    for change in improved:
        assert calibration.likelihood(replace(given, **change)) >= before


@given(unsure=st.floats(0.0, 30.0), less=st.floats(0.0, 1.0), doubts=st.integers(0, 5))
def test_an_entry_is_never_surer_for_weaker_values_or_more_doubts(
    unsure: float, less: float, doubts: int
) -> None:
    calibration = load_calibration()
    grounds = Grounds(
        unsure=unsure,
        least_sure=unsure / 2,
        heard=True,
        not_understood=doubts,
        contradicted=0,
        misplaced=0,
    )
    before = calibration.confidence(grounds)
    assert calibration.confidence(replace(grounds, unsure=unsure * less)) >= before
    assert calibration.confidence(replace(grounds, least_sure=unsure / 2 * less)) >= before
    assert calibration.confidence(replace(grounds, not_understood=doubts + 1)) <= before
    assert calibration.confidence(replace(grounds, contradicted=1)) <= before
    assert calibration.confidence(replace(grounds, misplaced=1)) <= before


@pytest.mark.parametrize("engine", ["whisper", "vosk"])
def test_every_shipped_engine_was_measured(engine: str) -> None:
    assert engine in load_calibration().values
