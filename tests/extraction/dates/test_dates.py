"""Dates as they are said and written at the bench."""

from __future__ import annotations

import calendar
import datetime as dt
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.dates.other_reader import is_edtf
from tests.extraction.sayings import as_year, bare, cardinal, ordinal, ordinal_figures
from voicelog.extraction.dates.grammar import DateReading, read_date
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import tokenize

MONTHS = list(calendar.month_name)[1:]
YEARS = st.integers(1800, 2040)


def reading(text: str, options: ReadingOptions | None = None) -> DateReading | None:
    """Return the date that a text is, from its first word to its last."""
    tokens = tokenize(text)
    found = read_date(tokens, 0, options or ReadingOptions())
    return found if found and found.end == len(tokens) else None


def edtf(text: str) -> str | None:
    found = reading(text)
    return found.edtf if found and not found.doubts else None


@st.composite
def said_days(draw: st.DrawFn) -> tuple[dt.date, str]:
    """Return a day and one of the ways to say or write it."""
    day = draw(st.dates(dt.date(1800, 1, 1), dt.date(2040, 12, 31)))
    month = MONTHS[day.month - 1]
    name = draw(st.sampled_from([month, month.lower(), month[:3], month[:3] + "."]))
    number = draw(st.sampled_from([ordinal(day.day), ordinal_figures(day.day), str(day.day)]))
    year = draw(st.sampled_from([as_year(day.year), str(day.year), bare(day.year)]))
    said = draw(
        st.sampled_from(
            [
                f"{name} {number}, {year}",
                f"{name} {number} {year}" if not number.isdigit() else f"{name} {number}, {year}",
                f"{name} the {number}, {year}",
                f"{number} {name} {year}",
                f"the {number} of {name} {year}",
                f"the {number} of {name}, {year}",
                day.isoformat(),
                f"{day.month}/{day.day}/{day.year}",
                f"{day.month:02}/{day.day:02}/{day.year}",
            ]
        )
    )
    return day, said


class TestDays:
    """Any day of two and a half centuries, said and written."""

    @given(day=said_days())
    def test_a_day_is_read_back(self, day: tuple[dt.date, str]) -> None:
        date, said = day
        assert edtf(said) == date.isoformat()

    @given(date=st.dates(dt.date(1800, 1, 1), dt.date(2040, 12, 31)))
    def test_the_day_may_stand_before_the_month_in_figures(self, date: dt.date) -> None:
        options = ReadingOptions(day_first=True)
        found = reading(f"{date.day}/{date.month}/{date.year}", options)
        assert found is not None
        assert found.edtf == date.isoformat()

    @given(year=YEARS, month=st.integers(1, 12))
    def test_a_month_is_read_back(self, year: int, month: int) -> None:
        expected = f"{year}-{month:02}"
        assert edtf(f"{MONTHS[month - 1]} {as_year(year)}") == expected
        assert edtf(f"{MONTHS[month - 1]} of {year}") == expected

    @pytest.mark.parametrize("month", range(1, 13))
    def test_a_day_without_a_year(self, month: int) -> None:
        name = MONTHS[month - 1]
        assert edtf(f"{name} fourth") == f"XXXX-{month:02}-04"
        assert edtf(f"the fourth of {name}") == f"XXXX-{month:02}-04"

    @given(year=YEARS)
    def test_words_and_figures_give_the_same_year(self, year: int) -> None:
        assert edtf(as_year(year)) == edtf(str(year)) == edtf(cardinal(year)) == str(year)


class TestImpossibleDates:
    """A day that the calendar doesn't have gives no date, and a doubt."""

    @pytest.mark.parametrize(
        "said",
        [
            "31 June 1952",
            "June thirty first",
            "30 February 1952",
            "29 February 1953",
            "February 29th, 1900",
            "the thirty first of April",
            "January thirty second 1950",
            "13/13/1952",
            "1952-13-01",
            "1952-06-31",
            "from 31 June 1952 to 4 July 1952",
            "before the thirty first of November 1952",
        ],
    )
    def test_it_is_doubted(self, said: str) -> None:
        found = reading(said)
        assert found is not None
        assert found.edtf is None
        assert "there is no such date" in found.doubts[0]

    @pytest.mark.parametrize("said", ["29 February 1952", "29 February 2000", "February 29"])
    def test_leap_days_are_possible(self, said: str) -> None:
        assert edtf(said) is not None

    @pytest.mark.parametrize("said", ["1953 to 1952", "June to May 1952", "between 1961 and 1948"])
    def test_an_end_before_the_beginning_is_doubted(self, said: str) -> None:
        found = reading(said)
        assert found is not None
        assert found.edtf is None
        assert "ends before it begins" in found.doubts[0]


class TestTwoDigitYears:
    """A two-digit year is read in the log's default century, with a doubt."""

    @pytest.mark.parametrize(
        ("said", "written"),
        [
            ("June fourth fifty two", "1952-06-04"),
            ("4 June 52", "1952-06-04"),
            ("June '52", "1952-06"),
            ("June fifty two", "1952-06"),
            ("summer '52", "1952-22"),
            ("'52", "1952"),
            ("6/4/52", "1952-06-04"),
        ],
    )
    def test_it_is_doubted(self, said: str, written: str) -> None:
        found = reading(said)
        assert found is not None
        assert (found.edtf, bool(found.doubts)) == (written, True)

    def test_the_century_is_a_setting(self) -> None:
        found = reading("June fourth fifty two", ReadingOptions(default_century=1800))
        assert found is not None
        assert found.edtf == "1852-06-04"


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("between the fifties and the sixties", "[1950..1969]"),
        ("before the fifties", "[..1950]"),
        ("after the fifties", "[1959..]"),
        ("the fifties or sixties", "[195X,196X]"),
        ("before about 1952", "../1952~"),
        ("after circa 1948", "1948~/.."),
        ("between about 1950 and about 1955", "1950~/1955~"),
        ("not before 1950", "[1950..]"),
        ("not after 1950", "[..1950]"),
        ("no later than June 1950", "[..1950-06]"),
        ("1950 or earlier", "[..1950]"),
        ("since 1948", "[1948..]"),
        ("prior to 1950", "[..1950]"),
        ("by 1950", "[..1950]"),
        ("before summer 1952", "../1952-22"),
        ("between spring and autumn 1952", "1952-21/1952-23"),
        ("June to August 1955", "1955-06/1955-08"),
        ("from June to August 1955", "1955-06/1955-08"),
        ("between March and May 1952", "[1952-03..1952-05]"),
        ("4 to 6 June 1952", "1952-06-04/1952-06-06"),
        ("June 4 to 6, 1952", "1952-06-04/1952-06-06"),
        ("from the fourth to the sixth of June 1952", "1952-06-04/1952-06-06"),
        ("June fourth to sixth nineteen fifty two", "1952-06-04/1952-06-06"),
        ("1952/53", "1952/1953"),
        ("nineteen fifty two to fifty three", "1952/1953"),
        ("from 1952", "1952"),
        ("winter 1952 to spring 1953", "1952-24/1953-21"),
    ],
)
def test_ranges_and_open_ends(said: str, written: str) -> None:
    assert edtf(said) == written
    assert is_edtf(written)


@pytest.mark.parametrize(
    ("said", "written", "aside"),
    [
        ("early fifties", "195X", "early"),
        ("the late 1950s", "195X", "late"),
        ("mid-1950s", "195X", "mid"),
        ("early June 1952", "1952-06", "early"),
        ("possibly June fourth", "XXXX-06-04", "possibly"),
        ("about June fourth", "XXXX-06-04", "about"),
        ("possibly the nineteenth century", "18XX", "possibly"),
    ],
)
def test_words_without_a_mark_are_kept_aside(said: str, written: str, aside: str) -> None:
    tokens = tokenize(said)
    found = reading(said)
    assert found is not None
    assert found.edtf == written
    assert [tokens[first].norm for first, _ in found.aside] == [aside]


@pytest.mark.parametrize(
    "said",
    [
        "may",
        "march",
        "summer",
        "the fall",
        "the second",
        "twelve",
        "fifty two",
        "1234567",
        "99",
        "2350",
        "undated",
        "the century",
        "may have been torn",
        "march past the hall",
        "second leaf",
        "before the war",
        "by June Harrow",
        "about",
        "between leaves 12 and 13",
    ],
)
def test_near_misses_are_no_date(said: str) -> None:
    assert read_date(tokenize(said), 0, ReadingOptions()) is None


@pytest.mark.parametrize(
    ("said", "written", "left"),
    [
        ("June fourth 1952 a postcard", "1952-06-04", "a postcard"),
        ("1952 possibly a ticket", "1952", "possibly a ticket"),
        ("1952 or a ticket", "1952", "or a ticket"),
        ("June 4 to 6 tickets", "XXXX-06-04", "to 6 tickets"),
        ("June fourth, the 1952 programme", "XXXX-06-04", ", the 1952 programme"),
        ("from 1952 to the end", "1952", "to the end"),
        ("the fifties, torn", "195X", ", torn"),
    ],
)
def test_a_date_ends_where_it_ends(said: str, written: str, left: str) -> None:
    tokens = tokenize(said)
    found = read_date(tokens, 0, ReadingOptions())
    assert found is not None
    rest = " ".join(token.norm for token in tokens[found.end :])
    assert (found.edtf, rest) == (written, left)


WORDS = st.sampled_from(
    re.findall(
        r"\S+",
        "about possibly circa early late before after between from to through and or until since "
        "by the of in some day month year one all , - / . ' ? not no later earlier than onwards so "
        "June fourth 4th may march spring fall fifties 1950s nineteen fifty two hundred 1952 1961 "
        "52 31 30 February 06 13 century twentieth century's tens noughties",
    )
)


@given(words=st.lists(WORDS, min_size=1, max_size=9))
def test_whatever_comes_out_is_edtf(words: list[str]) -> None:
    tokens = tokenize(" ".join(words))
    for start in range(len(tokens)):
        found = read_date(tokens, start, ReadingOptions())
        if found is None:
            continue
        assert start < found.end <= len(tokens)
        assert found.edtf is not None or found.doubts
        assert found.edtf is None or is_edtf(found.edtf), found.edtf


@given(text=st.text(max_size=60))
def test_no_text_is_too_odd(text: str) -> None:
    tokens = tokenize(text)
    for start in range(len(tokens)):
        found = read_date(tokens, start, ReadingOptions())
        assert found is None or start < found.end <= len(tokens)


@given(day=st.integers(1, 31), year=YEARS)
def test_a_counted_day_is_the_same_as_an_ordinal(day: int, year: int) -> None:
    assert edtf(f"{bare(day)} January {year}") == edtf(f"{ordinal(day)} of January {year}")
