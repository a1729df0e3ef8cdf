"""Numbers read back as they were said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.sayings import (
    COUNTING,
    SPELLED,
    Style,
    as_year,
    cardinal,
    sayings,
)
from voicelog.extraction.numbers.cardinals import read_whole_number, read_year
from voicelog.extraction.tokens import tokenize


def whole(text: str) -> int | None:
    """Return the number that a text says from its first word to its last."""
    tokens = tokenize(text)
    number = read_whole_number(tokens, 0)
    return number.value if number and number.end == len(tokens) else None


def year(text: str) -> int | None:
    tokens = tokenize(text)
    found = read_year(tokens, 0)
    return found.value if found and found.end == len(tokens) else None


class TestWholeNumbers:
    """Against num2words, an independent speaker of numbers."""

    @pytest.mark.parametrize("style", COUNTING, ids=lambda style: style.__name__)
    def test_every_number_to_two_thousand_is_read_back(self, style: Style) -> None:
        assert [whole(style(number)) for number in range(2001)] == list(range(2001))

    @pytest.mark.parametrize("style", SPELLED, ids=lambda style: style.__name__)
    def test_every_number_said_digit_by_digit_is_read_back(self, style: Style) -> None:
        assert [whole(style(number)) for number in range(10, 2001)] == list(range(10, 2001))

    @given(number=st.integers(2001, 99_999), data=st.data())
    def test_any_number_in_any_style_is_read_back(self, number: int, data: st.DataObject) -> None:
        assert whole(data.draw(sayings(number))) == number

    @given(number=st.integers(2001, 99_999))
    def test_styles_agree(self, number: int) -> None:
        assert {whole(style(number)) for style in COUNTING} == {number}

    @pytest.mark.parametrize(
        ("said", "number"),
        [
            ("two twenty seven", 227),
            ("one oh four", 104),
            ("one oh oh", 100),
            ("a hundred", None),
            ("a hundred and two", None),
            ("twelve hundred", 1200),
            ("twelve hundred and six", 1206),
            ("double two", 22),
            ("triple seven", 777),
            ("niner", 9),
            ("nought", 0),
            ("fourty two", 42),
            ("four twenty", 420),
            ("twenty thirty", None),
            ("twenty twenty one", None),
            ("1 4", None),
            ("two hundred thousand", 200_000),
        ],
    )
    def test_other_ways_to_say_it(self, said: str, number: int | None) -> None:
        assert whole(said) == number

    @pytest.mark.parametrize(
        ("text", "number", "words"),
        [
            ("seven a postcard", 7, 1),
            ("seventeen and a ticket", 17, 1),
            ("one hundred and a ticket", 100, 2),
            ("a hundred and one things", None, 0),
            ("twenty one postcards", 21, 2),
            ("two thousand, two postcards", 2000, 2),
            ("oh dear", 0, 1),
            ("double sided tape", None, 0),
            ("hundreds of them", None, 0),
            ("seventh leaf", None, 0),
            ("ones", None, 0),
        ],
    )
    def test_a_number_ends_where_it_ends(self, text: str, number: int | None, words: int) -> None:
        found = read_whole_number(tokenize(text), 0)
        assert (found.value, found.end) == (number, words) if found else number is None

    @given(text=st.text(max_size=60))
    def test_no_text_is_too_odd(self, text: str) -> None:
        tokens = tokenize(text)
        for start in range(len(tokens)):
            number = read_whole_number(tokens, start)
            assert number is None or start < number.end <= len(tokens)


class TestYears:
    """Years of the time in which albums were made."""

    @pytest.mark.parametrize("style", [as_year, cardinal, str], ids=["year", "cardinal", "figures"])
    def test_every_year_is_read_back(self, style: Style) -> None:
        assert [year(style(number)) for number in range(1400, 2100)] == list(range(1400, 2100))

    @pytest.mark.parametrize(
        ("said", "number"),
        [
            ("nineteen oh five", 1905),
            ("nineteen zero five", 1905),
            ("nineteen hundred and five", 1905),
            ("twenty twenty one", 2021),
            ("two thousand and four", 2004),
            ("19 52", 1952),
            ("nineteen 52", 1952),
            ("nineteen", None),
            ("thirteen fifty two", None),
            ("twenty one fifty two", None),
            ("nineteen five", None),
            ("fifty two", None),
            ("195", None),
            ("19520", None),
        ],
    )
    def test_a_year_has_four_digits(self, said: str, number: int | None) -> None:
        assert year(said) == number
