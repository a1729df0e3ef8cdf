"""The language model is a probability, whatever it was counted from and whatever it takes in."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.adapting.language_model import (
    END,
    START,
    Counts,
    LanguageModel,
    estimate,
    take_in,
)

WORDS = ["leaf", "recto", "verso", "four"]
sentences = st.lists(st.lists(st.sampled_from(WORDS), min_size=1, max_size=5), min_size=1)


def make_model(said: list[list[str]], **options: float) -> LanguageModel:
    counts = Counts()
    for sentence in said:
        counts.add(sentence)
    return estimate(counts, WORDS, **options)  # type: ignore[arg-type]


@given(sentences, st.sampled_from([{}, {1: 1.5, 2: 1.5}]))
def test_what_may_follow_any_history_sums_to_one(
    said: list[list[str]], least: dict[int, float]
) -> None:
    """Also where rare followers were left out, and after words that never met."""
    model = make_model(said, least=least)  # type: ignore[arg-type]
    for history in [(), (START,), *((word,) for word in WORDS), (START, "leaf"), ("four", "leaf")]:
        total = sum(model.probability(word, history) for word in (*WORDS, END))
        assert total == pytest.approx(1, abs=1e-6)


def test_what_was_said_is_likelier_than_what_was_not() -> None:
    """And a word never said after "leaf" is still possible there."""
    model = make_model([["leaf", "four", "recto"]] * 5)
    assert model.probability("four", ("leaf",)) > 0.8
    assert 0 < model.probability("verso", ("leaf",)) < 0.05


def test_a_sentence_that_counts_less_weighs_less() -> None:
    """As general English does beside notes."""
    counts = Counts()
    counts.add(["leaf", "four"])
    counts.add(["leaf", "verso"], 0.1)
    model = estimate(counts, WORDS)
    assert model.probability("four", ("leaf",)) > 2 * model.probability("verso", ("leaf",))


def count(said: list[list[str]], weight: float = 1.0) -> Counts:
    counts = Counts()
    for sentence in said:
        counts.add(sentence, weight)
    return counts


@given(sentences, st.lists(st.lists(st.sampled_from([*WORDS, "tarnfoot"]), min_size=1, max_size=5)))
def test_a_model_that_took_in_more_is_a_probability_still(
    said: list[list[str]], more: list[list[str]]
) -> None:
    """After every history, also those with a word in them that the model did not know."""
    model = take_in(make_model(said), count([*more, ["tarnfoot"]]), sentences=len(said))
    words = [*WORDS, "tarnfoot", END]
    for history in [(), (START,), ("four",), ("leaf", "four"), ("tarnfoot",), ("leaf", "tarnfoot")]:
        total = sum(model.probability(word, history) for word in words)
        assert total == pytest.approx(1, abs=1e-6)


def test_what_is_taken_in_counts_beside_what_was_there() -> None:
    """Of a thousand sentences and a hundred new ones, one in eleven begins with a new word."""
    before = make_model([["leaf", "four"]] * 600 + [["verso", "four"]] * 400)
    model = take_in(before, count([["tarnfoot", "verso"]] * 100), sentences=1000)
    assert model.probability("tarnfoot", (START,)) == pytest.approx(1 / 11, rel=0.02)
    assert model.probability("leaf", (START,)) == pytest.approx(6 / 11, rel=0.02)
    assert model.probability("verso", (START, "tarnfoot")) > 0.9


def test_what_nothing_new_was_said_of_stays_as_likely() -> None:
    before = make_model([["leaf", "four", "recto"]] * 600 + [["leaf", "four", "verso"]] * 400)
    model = take_in(before, count([["tarnfoot"]]), sentences=1000)
    for word in ("recto", "verso"):
        was = before.probability(word, ("leaf", "four"))
        assert model.probability(word, ("leaf", "four")) == pytest.approx(was)
