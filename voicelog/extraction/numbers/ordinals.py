"""Ordinal numbers: "fourth", "twenty first", "14th"."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.extraction.numbers.cardinals import Atom
from voicelog.extraction.numbers.words import (
    ORDINAL_ENDINGS,
    ORDINAL_TEENS,
    ORDINAL_TENS,
    ORDINAL_UNITS,
    SCALES,
    TEENS,
    TENS,
    UNITS,
)
from voicelog.extraction.tokens import Token

_SIMPLE = ORDINAL_UNITS | ORDINAL_TEENS | ORDINAL_TENS


def read_ordinal(tokens: Sequence[Token], start: int) -> Atom | None:
    """Return the ordinal (below 1000) that begins at ``start``, or None.

    Grammar::

        ordinal := numeral ("st" | "nd" | "rd" | "th") | small_ordinal
                 | unit "hundred" ("th" | ["and"] small_ordinal)
        small_ordinal := word such as "fourth" | tens unit_ordinal
    """
    word = tokens[start].norm
    following = tokens[start + 1].norm if start + 1 < len(tokens) else ""
    if word.isdecimal():
        if following in ORDINAL_ENDINGS and tokens[start + 1].glued:
            return Atom(str(int(word)), start + 2)
        return None
    if word in _SIMPLE:
        return Atom(str(_SIMPLE[word]), start + 1)
    if word in TENS and following in ORDINAL_UNITS:
        return Atom(str(TENS[word] + ORDINAL_UNITS[following]), start + 2)
    if word in UNITS | TEENS and UNITS.get(word, 1):
        return _read_hundreds(tokens, start, following)
    return None


def _read_hundreds(tokens: Sequence[Token], start: int, following: str) -> Atom | None:
    count = (UNITS | TEENS)[tokens[start].norm]
    if following == "hundredth":
        return Atom(str(count * 100), start + 2)
    if following not in SCALES or following != "hundred":
        return None
    index = start + 2
    if index < len(tokens) and tokens[index].norm == "and":
        index += 1
    if index >= len(tokens):
        return None
    rest = read_ordinal(tokens, index)
    if rest is None or not 0 < rest.value < 100:
        return None
    return Atom(str(count * 100 + rest.value), rest.end)
