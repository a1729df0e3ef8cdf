"""Ordinals read back as they were said."""

from __future__ import annotations

import pytest

from tests.extraction.sayings import Style, ordinal, ordinal_figures
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.tokens import tokenize


def order(text: str) -> int | None:
    tokens = tokenize(text)
    found = read_ordinal(tokens, 0)
    return found.value if found and found.end == len(tokens) else None


def american(number: int) -> str:
    return ordinal(number).replace(" and ", " ")


@pytest.mark.parametrize(
    "style", [ordinal, american, ordinal_figures], ids=["British", "American", "figures"]
)
def test_every_ordinal_below_a_thousand_is_read_back(style: Style) -> None:
    assert [order(style(number)) for number in range(1, 1000)] == list(range(1, 1000))


@pytest.mark.parametrize(
    "text", ["four", "14 th", "twenty", "th", "zeroth", "hundredth", "14", "one hundred"]
)
def test_a_cardinal_is_no_ordinal(text: str) -> None:
    assert order(text) is None
