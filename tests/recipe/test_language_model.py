"""The language model of the vosk recipe is a probability, whatever it was counted from."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.recipe.language_model import END, START, Counts, LanguageModel

WORDS = ["leaf", "recto", "verso", "four"]
sentences = st.lists(st.lists(st.sampled_from(WORDS), min_size=1, max_size=5), min_size=1)


def make_model(said: list[list[str]], **options: float) -> LanguageModel:
    counts = Counts()
    for sentence in said:
        counts.add(sentence)
    return LanguageModel(counts, WORDS, **options)  # type: ignore[arg-type]


@given(sentences, st.sampled_from([None, {1: 1.5, 2: 1.5}]))
def test_what_may_follow_any_history_sums_to_one(
    said: list[list[str]], least: dict[int, float] | None
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
    model = LanguageModel(counts, WORDS)
    assert model.probability("four", ("leaf",)) > 2 * model.probability("verso", ("leaf",))
