"""Saying a number in the ways that people and recognisers have.

The renderings come from num2words, which knows nothing of our grammars (num2words 0.5,
LGPL, used as a tool here and not shipped).
"""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import strategies as st
from num2words import num2words  # type: ignore[import-untyped]

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
RADIO = (
    "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliett",
    "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango",
    "uniform", "victor", "whiskey", "x-ray", "yankee", "zulu",
)  # fmt: skip
"""The ICAO spelling alphabet (ICAO Annex 10, volume II, 5.2.1.3; from memory)."""


def cardinal(number: int) -> str:
    """Say it the British way: "one thousand, two hundred and thirty-four"."""
    return str(num2words(number))


def american(number: int) -> str:
    """Say it without "and"."""
    return cardinal(number).replace(" and ", " ")


def bare(number: int) -> str:
    """Say it as a recogniser without punctuation writes it."""
    return cardinal(number).replace(",", "").replace("-", " ")


def bare_american(number: int) -> str:
    """Say it without "and", commas and hyphens."""
    return american(number).replace(",", "").replace("-", " ")


def figures(number: int) -> str:
    """Write it in figures."""
    return str(number)


def grouped_figures(number: int) -> str:
    """Write it in figures with a comma before the last three."""
    return f"{number:,}"


def digit_by_digit(number: int) -> str:
    """Say its digits one after the other, as for a leaf or an image."""
    return " ".join(DIGITS[int(digit)] for digit in str(number))


def with_oh(number: int) -> str:
    """Say its digits with "oh" for zero, except in front."""
    said = digit_by_digit(number).split()
    return " ".join([said[0], *("oh" if word == "zero" else word for word in said[1:])])


def as_year(number: int) -> str:
    """Say it as a year: "nineteen fifty-two", "nineteen oh-five"."""
    return str(num2words(number, to="year"))


def ordinal(number: int) -> str:
    """Say its ordinal: "one hundred and twenty-first"."""
    return str(num2words(number, to="ordinal"))


def ordinal_figures(number: int) -> str:
    """Write its ordinal: "121st"."""
    return str(num2words(number, to="ordinal_num"))


Style = Callable[[int], str]
COUNTING: tuple[Style, ...] = (cardinal, american, bare, bare_american, figures, grouped_figures)
"""Styles in which any number can be said."""
SPELLED: tuple[Style, ...] = (digit_by_digit, with_oh)
"""Styles of two and more digits."""


def sayings(number: int) -> st.SearchStrategy[str]:
    """Return a strategy for one number said in any style that fits it."""
    styles = COUNTING + SPELLED if number > 9 else COUNTING
    return st.sampled_from(styles).map(lambda style: style(number))


@st.composite
def said_digits(draw: st.DrawFn, digits: str) -> str:
    """Return a strategy for a row of digits said group by group.

    Two or three equal digits become "double" or "triple", pairs of digits a number
    ("thirty one"), zeros "oh" or "zero", and any group may be written in figures.
    """
    words: list[str] = []
    index = 0
    while index < len(digits):
        run = _run_length(digits, index)
        pair = digits[index : index + 2]
        options = ["digit", "figure"]
        if run >= 2:
            options.append("double")
        if run >= 3:
            options.append("triple")
        if len(pair) == 2 and pair[0] not in "01":
            options.append("pair")
        match draw(st.sampled_from(options)):
            case "digit":
                zero = draw(st.sampled_from(["oh", "zero"]))
                words.append(zero if digits[index] == "0" else DIGITS[int(digits[index])])
                index += 1
            case "figure":
                length = draw(st.integers(1, 4))
                words.append(digits[index : index + length])
                index += length
            case "pair":
                words.append(bare(int(pair)))
                index += 2
                # "twenty" and then "one" would be twenty-one.
                if pair[1] == "0" and index < len(digits) and digits[index] != "0":
                    words.append(digits[index])
                    index += 1
            case repeat:
                words.append(f"{repeat} {DIGITS[int(digits[index])]}")
                index += 2 if repeat == "double" else 3
    return " ".join(words)


def _run_length(digits: str, index: int) -> int:
    return len(digits[index:]) - len(digits[index:].lstrip(digits[index]))
