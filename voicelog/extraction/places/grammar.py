"""The grammar of places.

Grammar::

    place   := leaf [side] | side ["of"] leaf | page | named [side] | insert | step
    leaf    := ("leaf" | "folio") ["number"] number [letter] | ordinal "leaf" | number side
    page    := ("page" | "p" ".") ["number"] number
    named   := "front cover" | "inside [of] [the] front cover" | ["front"] "flyleaf" | ...
    insert  := "between" ["leaves" | "pages"] number "and" number
    step    := "next leaf" | "turn over" | "facing page" | ...
    range   := ("leaves" | "pages") number list
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from voicelog.domain.entry import Side
from voicelog.domain.place import Place, is_next_label, leaf_of_page, make_insert
from voicelog.domain.statement import Step
from voicelog.extraction.numbers.cardinals import Atom, read_whole_number
from voicelog.extraction.numbers.lists import NumberList, read_number_list
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.places.labels import (
    LABEL_LETTERS,
    LEAF_WORDS,
    PAGE_WORDS,
    SIDE_LETTERS,
    SIDE_WORDS,
    is_glued_label,
    match_words,
    names_other_side,
    read_label_letter,
    read_leaf_number,
    read_side,
    word_at,
)
from voicelog.extraction.places.wordings import NAMED, STEPS
from voicelog.extraction.tokens import Token

_OF_THE = frozenset({"of", "the"})
_THE = frozenset({"the"})
_THROUGH = frozenset({"to", "through", "-"})
_SEVERAL = {"leaves": Step.NEXT_LEAF, "pages": Step.NEXT_PAGE, "sides": Step.NEXT_PAGE}
LONGEST_WALK = 50
"""More leaves than this in "the next ... leaves" are likelier misheard than meant."""
_GOES_ON = _THROUGH | {"and", "&"}
_Meaning = TypeVar("_Meaning")


def _by_first_word(
    wordings: tuple[tuple[tuple[str, ...], _Meaning], ...],
) -> dict[str, tuple[tuple[tuple[str, ...], _Meaning], ...]]:
    return {
        first: tuple(one for one in wordings if one[0][0] == first)
        for first in {words[0] for words, _ in wordings}
    }


_NAMED_BY_FIRST = _by_first_word(NAMED)
_STEPS_BY_FIRST = _by_first_word(STEPS)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceReading:
    """A place, a step or a list of places, and where the words end.

    Attributes:
        place: a place named outright, or None.
        step: a relative move, or None.
        steps: how often it is taken: "the next three leaves" are three.
        places: several places ("leaves ten to twelve"), for which blank is said.
        side_only: only a side was named.
        both_sides: "both sides" was said with the place.
        has_side: whether a side was said (a leaf without one is its recto).
        end: index after the last token.
        doubts: reasons in plain words.
        first_page: where the place was given as a page, the page that is leaf 1 recto.
    """

    place: Place | None = None
    step: Step | None = None
    steps: int = 1
    places: tuple[Place, ...] = ()
    side_only: Side | None = None
    both_sides: bool = False
    has_side: bool = False
    end: int = 0
    doubts: tuple[str, ...] = ()
    first_page: int | None = None


class PlaceGrammar:
    """Reads places; knows on which page the leaves begin.

    Args:
        first_page: the number of the page that is leaf 1 recto.
    """

    def __init__(self, *, first_page: int = 1) -> None:
        self._first_page = first_page

    def read(
        self, tokens: Sequence[Token], start: int, item_starts: frozenset[int] = frozenset()
    ) -> PlaceReading | None:
        """Return the place that begins at ``start``, or None.

        Args:
            tokens: the note's tokens.
            start: where the place begins.
            item_starts: where item types begin, so that "leaf seven a postcard" is
                leaf 7 and not leaf 7A.
        """
        word = tokens[start].norm
        if word in LEAF_WORDS or word in {"leaves", "folios"}:
            return self._read_leaf(tokens, start, item_starts)
        if word in PAGE_WORDS | {"pages", "p"}:
            return self._read_page(tokens, start, item_starts)
        if word in SIDE_WORDS:
            return self._read_side_first(tokens, start, item_starts)
        if word in {"between", "inserted", "insert"}:
            return self._read_insert(tokens, start)
        if word in {"front", "back"} and word_at(tokens, start + 1) == "of":
            return self._read_front_of(tokens, start, item_starts)
        return (
            self._read_named(tokens, start)
            or self._read_step(tokens, start)
            or self._read_number_first(tokens, start)
        )

    def _read_leaf(
        self, tokens: Sequence[Token], start: int, item_starts: frozenset[int]
    ) -> PlaceReading | None:
        step = self._read_step(tokens, start)
        index = start + 1
        while word_at(tokens, index) in {"number", "no", ".", "#", "is", "the", "um", "uh"}:
            index += 1
        if index >= len(tokens):
            return step
        if tokens[start].norm in {"leaves", "folios"}:
            numbers = read_number_list(tokens, index)
            if numbers is None:
                return step
            places = tuple(Place(leaf=str(number)) for number in numbers.numbers)
            return PlaceReading(places=places, end=numbers.end)
        number = read_leaf_number(tokens, index, item_starts)
        if number is None:
            return step
        if word_at(tokens, number.end) in _GOES_ON:
            numbers = read_number_list(tokens, index)
            if numbers and len(numbers.numbers) > 1 and _may_be_several(tokens, number, numbers):
                places = tuple(Place(leaf=str(one)) for one in numbers.numbers)
                return PlaceReading(places=places, end=numbers.end)
        letter, end = read_label_letter(tokens, number.end, item_starts)
        side, end = read_side(tokens, end)
        place = Place(leaf=f"{number.value}{letter}", side=side or Side.RECTO)
        if side is not None and names_other_side(tokens, end, side):
            return PlaceReading(place=place, has_side=False, end=end + 2)
        return PlaceReading(place=place, has_side=side is not None, end=end)

    def _read_page(
        self, tokens: Sequence[Token], start: int, item_starts: frozenset[int]
    ) -> PlaceReading | None:
        index = start + 1
        if tokens[start].norm == "p" and word_at(tokens, index) == ".":
            index += 1
        while word_at(tokens, index) in {"number", "no", ".", "#", "is", "um", "uh"}:
            index += 1
        if index >= len(tokens) or word_at(tokens, index) in {"marked", "numbered"}:
            return None
        if tokens[start].norm == "pages":
            numbers = read_number_list(tokens, index)
            if numbers is None:
                return None
            if min(numbers.numbers) < self._first_page:
                return None
            places = tuple(self._place_of_page(number) for number in numbers.numbers)
            return PlaceReading(places=places, end=numbers.end, has_side=True)
        number = read_leaf_number(tokens, index, item_starts)
        if number is None or number.value < self._first_page:
            return self._read_step(tokens, start)
        if word_at(tokens, number.end) in _GOES_ON:
            numbers = read_number_list(tokens, index)
            if numbers and len(numbers.numbers) > 1 and _may_be_several(tokens, number, numbers):
                places = tuple(self._place_of_page(one) for one in numbers.numbers)
                return PlaceReading(places=places, end=numbers.end, has_side=True)
        place = self._place_of_page(number.value)
        side, end = read_side(tokens, number.end)
        if side is not None and side is not place.side:
            said = f"page {number.value} is leaf {place.leaf} {place.side}, not {side}"
            return PlaceReading(place=place, has_side=True, end=end, doubts=(said,))
        return PlaceReading(place=place, has_side=True, end=end, first_page=self._first_page)

    def _place_of_page(self, page: int) -> Place:
        return leaf_of_page(page, first_page=self._first_page)

    def _read_side_first(
        self, tokens: Sequence[Token], start: int, item_starts: frozenset[int]
    ) -> PlaceReading | None:
        side = SIDE_WORDS[tokens[start].norm]
        index = start + 1
        has_of = word_at(tokens, index) == "of"
        while word_at(tokens, index) in {"of", "the"}:
            index += 1
        if has_of and index < len(tokens):
            whole = self.read(tokens, index, item_starts)
            if whole and whole.place and whole.place.has_sides:
                place = Place(leaf=whole.place.leaf, side=side)
                return PlaceReading(place=place, has_side=True, end=whole.end)
        return PlaceReading(side_only=side, has_side=True, end=start + 1)

    def _read_front_of(
        self, tokens: Sequence[Token], start: int, item_starts: frozenset[int]
    ) -> PlaceReading | None:
        index = start + 2
        if word_at(tokens, index) == "the":
            index += 1
        if word_at(tokens, index) not in LEAF_WORDS | {"flyleaf"}:
            return None
        side = Side.RECTO if tokens[start].norm == "front" else Side.VERSO
        whole = self.read(tokens, index, item_starts)
        if whole and whole.place and whole.place.has_sides:
            return PlaceReading(
                place=Place(leaf=whole.place.leaf, side=side), has_side=True, end=whole.end
            )
        return PlaceReading(side_only=side, has_side=True, end=index + 1)

    def _read_insert(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        index = start
        while word_at(tokens, index) in {"inserted", "insert", "loose", "found", ","}:
            index += 1
        if word_at(tokens, index) != "between":
            return None
        index += 1
        if word_at(tokens, index) == "the":
            index += 1
        unit = word_at(tokens, index)
        if unit in {"leaves", "leaf", "folios", "pages", "page"}:
            index += 1
        else:
            unit = ""
        first = _read_insert_label(tokens, index)
        if first is None or word_at(tokens, first.end) != "and":
            return None
        after = first.end + 1
        if word_at(tokens, after) in {"leaf", "page"}:
            after += 1
        second = _read_insert_label(tokens, after)
        # Without "leaves", long numbers are years.
        if second is None or (not unit and max(len(first.digits), len(second.digits)) > 3):
            return None
        if unit.startswith("page"):
            return self._make_page_insert(first, second)
        return _make_insert_reading(first.digits, second.digits, second.end)

    def _make_page_insert(self, first: Atom, second: Atom) -> PlaceReading | None:
        if not (first.digits.isdecimal() and second.digits.isdecimal()):
            return None
        low, high = sorted((first.value, second.value))
        if low < self._first_page:
            return None
        before, after = self._place_of_page(low).leaf, self._place_of_page(high).leaf
        if before != after:
            return _make_insert_reading(before, after, second.end)
        doubt = (
            f"pages {low} and {high} are the two sides of leaf {before}; "
            "nothing can lie between them"
        )
        place = make_insert(before, str(int(before) + 1))
        return PlaceReading(place=place, end=second.end, doubts=(doubt,))

    def _read_named(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        for words, name in _NAMED_BY_FIRST.get(tokens[start].norm, ()):
            end = match_words(tokens, start, words, skip=_OF_THE)
            if end is not None:
                place = Place(leaf=name)
                if not place.has_sides:
                    return PlaceReading(place=place, has_side=True, end=end)
                side, end = read_side(tokens, end)
                place = Place(leaf=name, side=side or Side.RECTO)
                return PlaceReading(place=place, has_side=side is not None, end=end)
        return None

    def _read_step(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        best = _read_next_several(tokens, start)
        for words, step in _STEPS_BY_FIRST.get(tokens[start].norm, ()):
            end = match_words(tokens, start, words, skip=_THE)
            if end is not None and (best is None or end > best.end):
                best = PlaceReading(step=step, end=end)
        return best

    def _read_number_first(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        """Read "fourteen recto", "14r" and "the third leaf"."""
        ordinal = read_ordinal(tokens, start)
        if ordinal is not None:
            if word_at(tokens, ordinal.end) not in LEAF_WORDS:
                return None
            side, end = read_side(tokens, ordinal.end + 1)
            place = Place(leaf=str(ordinal.value), side=side or Side.RECTO)
            return PlaceReading(place=place, has_side=side is not None, end=end)
        if tokens[start].norm == "a":
            return None
        number = read_whole_number(tokens, start)
        if number is None or len(number.digits) > 3 or number.value == 0:
            return None
        letter = ""
        end = number.end
        if end < len(tokens) and tokens[end].glued and tokens[end].norm in SIDE_LETTERS:
            if tokens[start].norm.isdecimal():
                side = SIDE_LETTERS[tokens[end].norm]
                place = Place(leaf=str(number.value), side=side)
                return PlaceReading(place=place, has_side=True, end=end + 1)
            return None
        if is_glued_label(tokens, start, end):
            place = Place(leaf=f"{number.value}{tokens[end].norm.upper()}", side=Side.RECTO)
            side, after = read_side(tokens, end + 1)
            if side is not None:
                return PlaceReading(
                    place=Place(leaf=place.leaf, side=side), has_side=True, end=after
                )
            return PlaceReading(place=place, end=end + 1)
        follows = end < len(tokens) and tokens[end].norm
        if follows in LABEL_LETTERS:
            letter, end = follows.upper(), end + 1
        if word_at(tokens, end) in SIDE_WORDS:
            place = Place(leaf=f"{number.value}{letter}", side=SIDE_WORDS[word_at(tokens, end)])
            return PlaceReading(place=place, has_side=True, end=end + 1)
        return None


def _read_next_several(tokens: Sequence[Token], start: int) -> PlaceReading | None:
    """Read "next three leaves" and "following two pages"."""
    if tokens[start].norm not in {"next", "following"} or start + 1 >= len(tokens):
        return None
    number = read_whole_number(tokens, start + 1)
    step = None if number is None else _SEVERAL.get(word_at(tokens, number.end))
    if number is None or step is None or not 1 < number.value <= LONGEST_WALK:
        return None
    return PlaceReading(step=step, steps=number.value, end=number.end + 1)


def _may_be_several(tokens: Sequence[Token], first: Atom, numbers: NumberList) -> bool:
    """Whether "leaf nine and ten" names two leaves: "leaf nine and two postcards" doesn't."""
    if word_at(tokens, first.end) in _THROUGH:
        return True
    at = numbers.end
    while word_at(tokens, at) in {"are", "is", "both", ",", "all"}:
        at += 1
    return word_at(tokens, at) in {"blank", "nothing"}


def _make_insert_reading(first: str, second: str, end: int) -> PlaceReading:
    place = make_insert(first, second)
    _, low, _, high = place.leaf.split()
    doubts: tuple[str, ...] = ()
    if not is_next_label(low, high):
        doubts = (f"leaves {low} and {high} don't follow each other",)
    return PlaceReading(place=place, end=end, doubts=doubts)


def _read_insert_label(tokens: Sequence[Token], index: int) -> Atom | None:
    """Read "12" or "7A"; a letter that stands alone needs "and" or the end after it."""
    number = read_leaf_number(tokens, index)
    letter = word_at(tokens, number.end) if number else ""
    if number is None or letter not in LABEL_LETTERS:
        return number
    token = tokens[number.end]
    if not (token.glued or token.text.isupper() or word_at(tokens, number.end + 1) in {"and", ""}):
        return number
    return Atom(f"{number.value}{letter.upper()}", number.end + 1)
