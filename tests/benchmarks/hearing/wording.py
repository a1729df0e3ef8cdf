"""Brings what was said and what was heard to one way of writing, so that words can be counted.

Capitals and marks go, spelling becomes British, and every number becomes one word of digits:
"nineteen fifty two" and "1952" are the same, and so are "four and a quarter" and "4 1/4".
Numbers that follow each other without a word between are one ("dash" and "point" between them
are marks). Nothing else is forgiven: "fly leaf" for "flyleaf" is two errors. This is no part
of voicelog: what reads the notes must not decide how they are judged.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from num2words import num2words  # type: ignore[import-untyped]

from tests.recognition.spelled_strings import read_number
from voicelog.vocabulary.inflection import in_british

_WORD = re.compile(r"\d+(?:st|nd|rd|th|s)?\b|\d+|[a-z]+(?:'[a-z]+)*")
_FRACTIONS = {"1/2": "half", "1/4": "quarter", "3/4": "3 quarters"} | {
    f"{count}/8": f"{count} eighths" for count in (3, 5, 7)
}
_FRACTIONS |= {
    "1/8": "eighth",
    "1/16": "sixteenth",
    "½": " half",
    "¼": " quarter",
    "¾": " 3 quarters",
}
_A_FRACTION = re.compile(r"\b(?:and )?(?:a |an )?(half|quarter|eighth|sixteenth)\b")
_SOME_FRACTIONS = re.compile(r"\band (three|3|five|5|seven|7) (quarters|eighths)\b")
_UNIT = re.compile(r"(?<=\d)\s*(mm|cm)\b")
_UNITS = {"mm": " millimetres", "cm": " centimetres"}
_MARKS_BETWEEN_NUMBERS = frozenset({"dash", "hyphen", "point", "dot", "slash", "stroke"})
_ORDINALS = {num2words(value, to="ordinal"): value for value in (*range(1, 21), 30)}
_DECADES = {f"{num2words(value)[:-1]}ies": value for value in range(20, 100, 10)}


def write_plainly(text: str) -> tuple[str, ...]:
    """Return the words of a text as they are compared.

    >>> write_plainly("Accession 2031-007.")
    ('accession', '2031007')
    >>> write_plainly("accession twenty thirty one dash zero zero seven")
    ('accession', '2031007')
    >>> write_plainly("measures four and a quarter by six") == write_plainly("Measures 4¼ x 6.")
    True
    >>> write_plainly("June fourth, the nineteen fifties"), write_plainly("June 4th the 1950s")
    (('june', '4', 'the', '1950s'), ('june', '4', 'the', '1950s'))
    """
    plain = text.lower().replace("’", "'").replace("&", " and ")
    plain = re.sub(r"(?<=[\d½¼¾])\s*[x×]\s*(?=\d)", " by ", plain)
    for sign, words in _FRACTIONS.items():
        plain = plain.replace(sign, words)
    plain = re.sub(r"(?<=\d),(?=\d{3}\b)", "", plain)
    plain = _UNIT.sub(lambda found: _UNITS[found[1]], plain)
    plain = _SOME_FRACTIONS.sub(r"\1 \2", _A_FRACTION.sub(r"\1", plain))
    return tuple(_join_numbers(_WORD.findall(plain)))


def is_number(word: str) -> bool:
    """Say whether a word of :func:`write_plainly` is a number."""
    return word[0].isdigit()


def _join_numbers(words: Sequence[str]) -> Iterator[str]:
    number = ""
    waiting = ""
    at = 0
    while at < len(words):
        digits, after = _read_digits(words, at)
        if digits is not None and not (words[at] == "oh" and not number):
            number, waiting, at = number + digits, "", after
        elif number and not waiting and words[at] in _MARKS_BETWEEN_NUMBERS:
            waiting, at = words[at], at + 1
        else:
            yield from filter(None, (number, waiting))
            number = waiting = ""
            yield in_british(words[at])
            at += 1
    yield from filter(None, (number, waiting))


def _read_digits(words: Sequence[str], at: int) -> tuple[str | None, int]:
    word = words[at]
    if word[0].isdigit():
        return (word if word.endswith("s") else re.sub(r"\D+", "", word)), at + 1
    if word in _ORDINALS:
        return str(_ORDINALS[word]), at + 1
    if word in _DECADES:
        return f"{_DECADES[word]}s", at + 1
    found = read_number([one.upper() for one in words], at)
    if found is None:
        return None, at
    value, after = found
    # "Twenty first" is one number, as "twenty one" is.
    if (
        value >= 20
        and value % 10 == 0
        and after < len(words)
        and _ORDINALS.get(words[after], 99) < 10
    ):
        return str(value + _ORDINALS[words[after]]), after + 1
    return str(value), after
