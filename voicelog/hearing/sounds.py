"""How alike two pieces sound."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from rapidfuzz.distance import Levenshtein

from voicelog.extraction.numbers.words import TEENS, TENS, UNITS
from voicelog.extraction.sounds.phones import Pronouncer
from voicelog.hearing.pieces import Piece

_NAMES = {value: word for word, value in reversed((UNITS | TEENS | TENS).items())}
_MOST_WAYS = 16
"""A long number has many ways to be said; the first ones hold the usual ones."""


class SoundDistance:
    """Compares pieces by sound; making one takes about a second."""

    def __init__(self) -> None:
        self._pronouncer = Pronouncer()
        self._known: dict[tuple[str, ...], tuple[str, ...]] = {}

    def measure(self, one: Piece, other: Piece) -> float:
        """Return 0 for what sounds the same, 1 for what has nothing in common."""
        if one.key == other.key:
            return 0.0
        return self.measure_words(one.spoken, other.spoken)

    def measure_words(self, one: Sequence[str], other: Sequence[str]) -> float:
        """Return the same for words in lower case: edits over the longer one's phones.

        Where a word's sounds are not known its letters stand for them. Numbers in digits are
        taken in whichever way of saying them is nearest: "2020" is twenty twenty as well.
        """
        return min(
            Levenshtein.normalized_distance(first, second)
            for first in self._ways(one)
            for second in self._ways(other)
        )

    def _ways(self, words: Sequence[str]) -> tuple[str, ...]:
        """Return the phones of every way to say some words, run together."""
        key = tuple(words)
        if key not in self._known:
            ways = itertools.product(*(_say(word) for word in words))
            said = itertools.islice(ways, _MOST_WAYS)
            self._known[key] = tuple("".join(map(self._phones, way)) for way in said)
        return self._known[key]

    def _phones(self, text: str) -> str:
        return "".join(self._pronouncer.phones([word]) or word for word in text.split())


def _say(word: str) -> tuple[str, ...]:
    """Return how a number may be said; words are said as they are written.

    >>> _say("31"), _say("1952"), _say("007")
    (('thirty one',), ('one nine five two', 'nineteen fifty two'), ('zero zero seven',))
    """
    if not (word.isascii() and word.isdecimal()):
        return (word,)
    if len(word) <= 2 and (word == "0" or not word.startswith("0")):
        return (_say_below_hundred(int(word)),)
    one_by_one = " ".join(_NAMES[int(digit)] for digit in word)
    if len(word) in {3, 4} and word[-2] != "0" and not word.startswith("0"):
        pair = f"{_say_below_hundred(int(word[:-2]))} {_say_below_hundred(int(word[-2:]))}"
        return one_by_one, pair
    return (one_by_one,)


def _say_below_hundred(value: int) -> str:
    if value in _NAMES:
        return _NAMES[value]
    return f"{_NAMES[value - value % 10]} {_NAMES[value % 10]}"
