"""Amounts read back exactly: whole, decimal, fraction, mixed."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.sayings import DIGITS, bare
from voicelog.extraction.numbers.fractions import read_amount
from voicelog.extraction.tokens import tokenize

PART_NAMES = {
    2: "half",
    3: "third",
    4: "quarter",
    8: "eighth",
    16: "sixteenth",
    32: "thirty-second",
}
SIGNS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/3": "⅓", "2/3": "⅔", "1/8": "⅛", "3/8": "⅜",
         "5/8": "⅝", "7/8": "⅞"}  # fmt: skip


def amount(text: str) -> Fraction | None:
    """Return the amount that a text says from its first word to its last."""
    tokens = tokenize(text)
    found = read_amount(tokens, 0)
    return found.value if found and found.end == len(tokens) else None


def part_in_words(above: int, below: int) -> str:
    name = PART_NAMES[below]
    if above == 1:
        return f"a {name}"
    plural = "halves" if below == 2 else f"{name}s"
    return f"{bare(above)} {plural}"


def said_with_and(whole: int, above: int, below: int) -> str:
    return f"{bare(whole)} and {part_in_words(above, below)}"


def figures_with_and(whole: int, above: int, below: int) -> str:
    return f"{whole} and {above}/{below}"


def figures(whole: int, above: int, below: int) -> str:
    return f"{whole} {above}/{below}"


def figures_with_hyphen(whole: int, above: int, below: int) -> str:
    return f"{whole}-{above}/{below}"


def words_and_figures(whole: int, above: int, below: int) -> str:
    return f"{bare(whole)} {above}/{below}"


def with_sign(whole: int, above: int, below: int) -> str:
    sign = SIGNS.get(f"{above}/{below}")
    return f"{whole}{sign}" if sign else figures(whole, above, below)


STYLES = (
    said_with_and,
    figures_with_and,
    figures,
    figures_with_hyphen,
    words_and_figures,
    with_sign,
)


@st.composite
def mixed_numbers(draw: st.DrawFn) -> tuple[int, int, int]:
    below = draw(st.sampled_from(sorted(PART_NAMES)))
    above = draw(st.integers(1, below - 1))
    return draw(st.integers(1, 199)), above, below


class TestMixedNumbers:
    """A ruler's numbers: halves to thirty-seconds."""

    @pytest.mark.parametrize("style", STYLES, ids=lambda style: style.__name__)
    @given(number=mixed_numbers())
    def test_it_is_read_back_exactly(
        self, style: Callable[[int, int, int], str], number: tuple[int, int, int]
    ) -> None:
        whole, above, below = number
        assert amount(style(whole, above, below)) == whole + Fraction(above, below)

    @pytest.mark.parametrize("below", sorted(PART_NAMES))
    def test_a_fraction_alone_is_read_back_exactly(self, below: int) -> None:
        for above in range(1, below):
            assert amount(part_in_words(above, below)) == Fraction(above, below)
            assert amount(f"{above}/{below}") == Fraction(above, below)


class TestDecimals:
    """Decimals in figures and in words."""

    @given(whole=st.integers(0, 9999), digits=st.text("0123456789", min_size=1, max_size=4))
    def test_it_is_read_back_exactly(self, whole: int, digits: str) -> None:
        value = Fraction(f"{whole}.{digits}")
        spoken = " ".join(DIGITS[int(digit)] for digit in digits)
        assert amount(f"{whole}.{digits}") == value
        assert amount(f"{bare(whole)} point {spoken}") == value
        assert amount(f"{whole} point {digits}") == value

    @pytest.mark.parametrize(
        "said", ["point five", ".5", "0.5", "oh point five", "zero point five"]
    )
    def test_a_half_needs_no_zero(self, said: str) -> None:
        assert amount(said) == Fraction(1, 2)


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("four", 4),
        ("one oh five", 105),
        ("half", Fraction(1, 2)),
        ("half an", Fraction(1, 2)),
        ("one half", Fraction(1, 2)),
        ("one and a half", Fraction(3, 2)),
        ("four and one quarter", Fraction(17, 4)),
        ("six five eighths", 6 + Fraction(5, 8)),
        ("6 five eighths", 6 + Fraction(5, 8)),
        ("twenty five eighths", 20 + Fraction(5, 8)),
        ("one hundred and one and a half", 101 + Fraction(1, 2)),
        ("seven sixty-fourths", Fraction(7, 64)),
        ("5/8ths", Fraction(5, 8)),
        ("four and five", None),
        ("1/0", None),
        ("3/1000", None),
        ("a", None),
        ("by", None),
    ],
)
def test_other_ways_to_say_it(said: str, value: Fraction | int | None) -> None:
    assert amount(said) == value


@given(text=st.text(max_size=60))
def test_no_text_is_too_odd(text: str) -> None:
    tokens = tokenize(text)
    for start in range(len(tokens)):
        found = read_amount(tokens, start)
        assert found is None or (start < found.end <= len(tokens) and found.value >= 0)
