"""Lists and ranges of numbers, as said of images and leaves."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.sayings import COUNTING, Style, bare
from voicelog.extraction.numbers.lists import LONGEST_RANGE, read_number_list
from voicelog.extraction.tokens import tokenize


def numbers(text: str) -> tuple[tuple[int, ...], str] | None:
    """Return the numbers that a text begins with, and the words left over."""
    tokens = tokenize(text)
    found = read_number_list(tokens, 0)
    if found is None:
        return None
    return found.numbers, " ".join(token.norm for token in tokens[found.end :])


@pytest.mark.parametrize(
    ("said", "expected", "left"),
    [
        ("seven", (7,), ""),
        ("twelve to fourteen and seventeen", (12, 13, 14, 17), ""),
        ("12-14, 17", (12, 13, 14, 17), ""),
        ("1, 2 and 3", (1, 2, 3), ""),
        ("3,4,5", (3, 4, 5), ""),
        ("100,101", (100, 101), ""),
        ("100,101,102", (100, 101, 102), ""),
        ("1,234", (1234,), ""),
        ("3–5", (3, 4, 5), ""),
        ("3 – 5", (3, 4, 5), ""),
        ("twenty-seven & twenty-nine", (27, 29), ""),
        ("27 plus 28", (27, 28), ""),
        ("27, 28, and 29", (27, 28, 29), ""),
        ("twenty seven through twenty nine", (27, 28, 29), ""),
        ("one hundred and one to one hundred and three", (101, 102, 103), ""),
        ("27 to 29 and 31 to 33", (27, 28, 29, 31, 32, 33), ""),
        ("27 and a postcard", (27,), "and a postcard"),
        ("27, a postcard", (27,), ", a postcard"),
        ("twelve to ten", (12,), "to ten"),
        ("twelve to the end", (12,), "to the end"),
        ("3 to 900", (3,), "to 900"),
    ],
)
def test_said_and_expected(said: str, expected: tuple[int, ...], left: str) -> None:
    assert numbers(said) == (expected, left)


@pytest.mark.parametrize("said", ["a postcard", "to five", "and", "first to third"])
def test_near_misses_are_no_list(said: str) -> None:
    assert numbers(said) is None


@given(
    first=st.integers(1, 9000),
    length=st.integers(1, LONGEST_RANGE),
    link=st.sampled_from(["to", "through", "till", "until"]),
    styles=st.lists(st.sampled_from(COUNTING), min_size=2, max_size=2),
)
def test_a_range_is_written_out(
    first: int, length: int, link: str, styles: tuple[Style, Style]
) -> None:
    last = first + length
    said = f"{styles[0](first)} {link} {styles[1](last)}"
    assert numbers(said) == (tuple(range(first, last + 1)), "")


@given(values=st.lists(st.integers(1, 999), min_size=2, max_size=6))
def test_words_and_figures_give_the_same_list(values: list[int]) -> None:
    in_words = ", ".join(bare(value) for value in values)
    # Two figures of three digits with a comma between are read as a list as well.
    in_figures = ", ".join(str(value) for value in values)
    assert numbers(in_words) == numbers(in_figures) == (tuple(values), "")
