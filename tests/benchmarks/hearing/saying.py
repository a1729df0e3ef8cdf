"""How a person says what a note writes in digits.

A synthetic voice reads "2031-007" as "2031 to 7" and "4 1/4" as "four one slash four"; nobody
at a bench does.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from num2words import num2words  # type: ignore[import-untyped]

_SIGNS = {"-": "dash", ".": "point", "/": "slash"}
_UNITS = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}
_MONTH = re.compile(
    r"(January|February|March|April|May|June|July|August|September|October|November|December) "
    r"(\d\d?)\b"
)
_PARTS = {"2": "half", "4": "quarter", "8": "eighth", "16": "sixteenth"}


def as_spoken(text: str) -> str:
    """Return a note as a person would say it, every number in words.

    >>> as_spoken("accession MC2031-007")
    'accession M C twenty thirty one dash zero zero seven'
    >>> as_spoken("11x14 cm, 4 1/4 by 1/8, 3.5")
    'eleven by fourteen centimetres, four and a quarter by an eighth, three point five'
    >>> as_spoken("6/4/52, July 4 1950, the 1950s")
    'six slash four slash fifty two, July fourth nineteen fifty, the nineteen fifties'
    >>> as_spoken("7B, images 20-31")
    'seven B, images twenty to thirty one'
    """
    for pattern, say in _RULES:
        text = pattern.sub(say, text)
    return text


def _words(number: str | int) -> str:
    return str(num2words(int(number))).replace("-", " ").replace(",", "")


def _year(number: str) -> str:
    century, rest = divmod(int(number), 100)
    if not 1100 <= int(number) < 2100 or 2000 <= int(number) < 2010:
        return _words(number)
    if rest == 0:
        return f"{_words(century)} hundred"
    return f"{_words(century)} {'oh ' if rest < 10 else ''}{_words(rest)}"


def _accession(found: re.Match[str]) -> str:
    letters, year, sign, number = found.groups()
    digits = " ".join(_words(digit) for digit in number)
    return " ".join([*letters, _year(year), _SIGNS[sign], digits])


def _slashed_date(found: re.Match[str]) -> str:
    first, second, year = found.groups()
    return f"{_words(first)} slash {_words(second)} slash {_year(year)}"


def _part(found: re.Match[str]) -> str:
    whole, count, parts = found.groups()
    name = _PARTS[parts]
    part = (
        f"{'an' if name == 'eighth' else 'a'} {name}"
        if count == "1"
        else f"{_words(count)} {name}s"
    )
    return part if whole is None else f"{_words(whole)} and {part}"


def _decade(found: re.Match[str]) -> str:
    century, decade = found.groups()
    said = re.sub("y$", "ies", _words(decade))
    return f"{_words(century)} {said}" if century else said


def _ordinal(found: re.Match[str]) -> str:
    return str(num2words(int(found[1]), to="ordinal")).replace("-", " ")


def _decimal(found: re.Match[str]) -> str:
    return f"{_words(found[1])} point {' '.join(map(_words, found[2]))}"


_RULES: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = (
    (re.compile(r"(?<=\d)\s*x\s*(?=\d)"), " by "),
    (re.compile(r"\b([A-Z]{0,3})(\d{4})([-./])(\d{3})\b"), _accession),
    (re.compile(r"\b(\d{1,2})/(\d{1,2})/(\d{2,4})\b"), _slashed_date),
    (re.compile(r"(?:\b(\d+) (?:and )?)?\b(\d+)/(2|4|8|16)\b"), _part),
    (re.compile(r"\b(\d+)\.(\d+)\b"), _decimal),
    (re.compile(r"\b(\d+)-(?=\d)"), r"\1 to "),
    (re.compile(r"\b(\d\d)?(\d0)s\b"), _decade),
    (re.compile(r"\b(\d+)(?:st|nd|rd|th)\b"), _ordinal),
    (
        _MONTH,
        lambda found: f"{found[1]} {num2words(int(found[2]), to='ordinal')}".replace("-", " "),
    ),
    (re.compile(r"(?<=\d )(mm|cm|in)\b"), lambda found: _UNITS[found[1]]),
    (re.compile(r"\b(\d+)([A-Z])\b"), r"\1 \2"),
    (re.compile(r"\b0\d+\b"), lambda found: " ".join(map(_words, found[0]))),
    (re.compile(r"\b(\d+)\b"), lambda found: _year(found[1])),
)
