"""Lists and ranges of whole numbers: "twelve to fourteen and seventeen"."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from voicelog.extraction.numbers.cardinals import Atom, read_whole_number
from voicelog.extraction.tokens import Token

_RANGE_WORDS = frozenset({"to", "through", "thru", "till", "until", "-", "–", "dash"})
_LIST_WORDS = frozenset({"and", ",", "&", "plus"})
LONGEST_RANGE = 500
"""A range longer than this is more likely misheard than meant."""


@dataclass(frozen=True, slots=True)
class NumberList:
    """Whole numbers in the order said, ranges written out, and where the words end."""

    numbers: tuple[int, ...]
    end: int


def read_number_list(
    tokens: Sequence[Token],
    start: int,
    *,
    may_follow: Callable[[int], bool] = lambda _: True,
) -> NumberList | None:
    """Return the list of numbers that begins at ``start``, or None.

    Args:
        tokens: the note's tokens.
        start: where the list begins.
        may_follow: told the index after a further number, says whether that number can
            belong to the list ("images 3 and 2 postcards": 2 can't).

    Grammar::

        list  := range ((","|"and")+ range)*
        range := number [("to" | "through" | "-") number] | "100,101"
    """
    read = _read_range(tokens, start)
    if read is None:
        return None
    numbers, end = list(read.numbers), read.end
    while end < len(tokens):
        index = end
        while index < len(tokens) and tokens[index].norm in _LIST_WORDS:
            index += 1
        if index == end or index >= len(tokens):
            break
        following = _read_range(tokens, index)
        if following is None or not may_follow(following.end):
            break
        numbers += following.numbers
        end = following.end
    return NumberList(tuple(numbers), end)


def _read_range(tokens: Sequence[Token], start: int) -> NumberList | None:
    groups = tokens[start].text.split(",")
    # "1,234" is one number, but "100,101" are two that lack their space.
    if len(groups) > 1 and len(groups[0]) == 3:
        return NumberList(tuple(int(group) for group in groups), start + 1)
    first = _read_number(tokens, start)
    if first is None:
        return None
    index = first.end
    if index + 1 < len(tokens) and tokens[index].norm in _RANGE_WORDS:
        second = _read_number(tokens, index + 1)
        if second and first.value < second.value <= first.value + LONGEST_RANGE:
            return NumberList(tuple(range(first.value, second.value + 1)), second.end)
    return NumberList((first.value,), first.end)


def _read_number(tokens: Sequence[Token], start: int) -> Atom | None:
    number = read_whole_number(tokens, start)
    return number if number and len(number.digits) <= 6 else None
