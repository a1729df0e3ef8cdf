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

from voicelog.domain.entry import Side
from voicelog.domain.place import (
    BACK_COVER,
    BACK_FLYLEAF,
    FLYLEAF,
    FRONT_COVER,
    INSIDE_BACK_COVER,
    INSIDE_FRONT_COVER,
    POCKET,
    SPINE,
    Place,
    leaf_of_page,
    make_insert,
)
from voicelog.domain.statement import Step
from voicelog.extraction.numbers.cardinals import Atom, read_atom, read_whole_number
from voicelog.extraction.numbers.lists import read_number_list
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.numbers.words import RADIO_ALPHABET
from voicelog.extraction.tokens import Token

LEAF_WORDS = frozenset({"leaf", "folio"})
PAGE_WORDS = frozenset({"page", "pg"})
SIDE_WORDS = {"recto": Side.RECTO, "verso": Side.VERSO}
_SIDE_LETTERS = {"r": Side.RECTO, "v": Side.VERSO}
# Letters that follow a leaf number when a leaf was put in between or counted twice.
_LABEL_LETTERS = frozenset("abcdefgh")
_NAMED: tuple[tuple[tuple[str, ...], str], ...] = (
    (("inside", "front", "cover"), INSIDE_FRONT_COVER),
    (("inside", "back", "cover"), INSIDE_BACK_COVER),
    (("inside", "rear", "cover"), INSIDE_BACK_COVER),
    (("front", "inside", "cover"), INSIDE_FRONT_COVER),
    (("back", "inside", "cover"), INSIDE_BACK_COVER),
    (("front", "cover"), FRONT_COVER),
    (("front", "board"), FRONT_COVER),
    (("upper", "cover"), FRONT_COVER),
    (("back", "cover"), BACK_COVER),
    (("back", "board"), BACK_COVER),
    (("rear", "cover"), BACK_COVER),
    (("lower", "cover"), BACK_COVER),
    (("back", "flyleaf"), BACK_FLYLEAF),
    (("rear", "flyleaf"), BACK_FLYLEAF),
    (("back", "fly", "leaf"), BACK_FLYLEAF),
    (("rear", "fly", "leaf"), BACK_FLYLEAF),
    (("front", "flyleaf"), FLYLEAF),
    (("front", "fly", "leaf"), FLYLEAF),
    (("flyleaf",), FLYLEAF),
    (("fly", "leaf"), FLYLEAF),
    (("spine",), SPINE),
    (("pocket",), POCKET),
)
_STEPS: tuple[tuple[tuple[str, ...], Step], ...] = (
    (("next", "leaf"), Step.NEXT_LEAF),
    (("following", "leaf"), Step.NEXT_LEAF),
    (("on", "to", "next", "leaf"), Step.NEXT_LEAF),
    (("new", "leaf"), Step.NEXT_LEAF),
    (("next", "recto"), Step.NEXT_LEAF),
    (("next", "page"), Step.NEXT_PAGE),
    (("following", "page"), Step.NEXT_PAGE),
    (("next", "side"), Step.NEXT_PAGE),
    (("new", "page"), Step.NEXT_PAGE),
    (("previous", "leaf"), Step.PREVIOUS_LEAF),
    (("back", "one", "leaf"), Step.PREVIOUS_LEAF),
    (("back", "a", "leaf"), Step.PREVIOUS_LEAF),
    (("leaf", "before"), Step.PREVIOUS_LEAF),
    (("previous", "page"), Step.PREVIOUS_PAGE),
    (("back", "one", "page"), Step.PREVIOUS_PAGE),
    (("back", "a", "page"), Step.PREVIOUS_PAGE),
    (("page", "before"), Step.PREVIOUS_PAGE),
    (("facing", "page"), Step.FACING_PAGE),
    (("opposite", "page"), Step.FACING_PAGE),
    (("page", "opposite"), Step.FACING_PAGE),
    (("facing", "side"), Step.FACING_PAGE),
    (("page", "facing"), Step.FACING_PAGE),
    (("turn", "over"), Step.TURN_OVER),
    (("turning", "over"), Step.TURN_OVER),
    (("turned", "over"), Step.TURN_OVER),
    (("turn", "it", "over"), Step.TURN_OVER),
    (("turn", "leaf", "over"), Step.TURN_OVER),
    (("turn", "over", "leaf"), Step.TURN_OVER),
    (("turning", "leaf"), Step.TURN_OVER),
    (("turn", "leaf"), Step.TURN_OVER),
    (("turn", "page"), Step.TURN_OVER),
    (("turning", "page"), Step.TURN_OVER),
    (("turn", "page", "over"), Step.TURN_OVER),
    (("flip", "over"), Step.TURN_OVER),
    (("flip", "it", "over"), Step.TURN_OVER),
    (("overleaf",), Step.TURN_OVER),
    (("over", "leaf"), Step.TURN_OVER),
    (("over", "page"), Step.TURN_OVER),
    (("other", "side"), Step.TURN_OVER),
    (("other", "side", "of", "leaf"), Step.TURN_OVER),
    (("reverse", "side"), Step.TURN_OVER),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceReading:
    """A place, a step or a list of places, and where the words end.

    Attributes:
        place: a place named outright, or None.
        step: a relative move, or None.
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
        if word in {"front", "back"} and _word(tokens, start + 1) == "of":
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
        while _word(tokens, index) in {"number", "no", ".", "#", "is", "the", "um", "uh"}:
            index += 1
        if index >= len(tokens):
            return step
        if tokens[start].norm in {"leaves", "folios"}:
            numbers = read_number_list(tokens, index)
            if numbers is None:
                return step
            places = tuple(Place(leaf=str(number)) for number in numbers.numbers)
            return PlaceReading(places=places, end=numbers.end)
        number = _read_leaf_number(tokens, index, item_starts)
        if number is None:
            return step
        if _word(tokens, number.end) in {"to", "through", "-"}:
            numbers = read_number_list(tokens, index)
            if numbers and len(numbers.numbers) > 1:
                places = tuple(Place(leaf=str(one)) for one in numbers.numbers)
                return PlaceReading(places=places, end=numbers.end)
        letter, end = _read_label_letter(tokens, number.end, item_starts)
        side, end = _read_side(tokens, end)
        place = Place(leaf=f"{number.value}{letter}", side=side or Side.RECTO)
        if side is not None and _names_other_side(tokens, end, side):
            return PlaceReading(place=place, has_side=False, end=end + 2)
        return PlaceReading(place=place, has_side=side is not None, end=end)

    def _read_page(
        self, tokens: Sequence[Token], start: int, item_starts: frozenset[int]
    ) -> PlaceReading | None:
        index = start + 1
        if tokens[start].norm == "p" and _word(tokens, index) == ".":
            index += 1
        while _word(tokens, index) in {"number", "no", ".", "#", "is", "um", "uh"}:
            index += 1
        if index >= len(tokens) or _word(tokens, index) in {"marked", "numbered"}:
            return None
        if tokens[start].norm == "pages":
            numbers = read_number_list(tokens, index)
            if numbers is None:
                return None
            places = tuple(self._place_of_page(number) for number in numbers.numbers)
            return PlaceReading(places=places, end=numbers.end, has_side=True)
        number = _read_leaf_number(tokens, index, item_starts)
        if number is None:
            return self._read_step(tokens, start)
        if _word(tokens, number.end) in {"to", "through", "-"}:
            numbers = read_number_list(tokens, index)
            if numbers and len(numbers.numbers) > 1:
                places = tuple(self._place_of_page(one) for one in numbers.numbers)
                return PlaceReading(places=places, end=numbers.end, has_side=True)
        place = self._place_of_page(number.value)
        side, end = _read_side(tokens, number.end)
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
        has_of = _word(tokens, index) == "of"
        while _word(tokens, index) in {"of", "the"}:
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
        if _word(tokens, index) == "the":
            index += 1
        if _word(tokens, index) not in LEAF_WORDS | {"flyleaf"}:
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
        while _word(tokens, index) in {"inserted", "insert", "loose", "found", ","}:
            index += 1
        if _word(tokens, index) != "between":
            return None
        index += 1
        if _word(tokens, index) == "the":
            index += 1
        unit = _word(tokens, index)
        if unit in {"leaves", "leaf", "folios", "pages", "page"}:
            index += 1
        else:
            unit = ""
        first = read_whole_number(tokens, index) if index < len(tokens) else None
        if first is None or _word(tokens, first.end) != "and":
            return None
        after = first.end + 1
        if _word(tokens, after) in {"leaf", "page"}:
            after += 1
        second = read_whole_number(tokens, after) if after < len(tokens) else None
        if second is None or (not unit and max(len(first.digits), len(second.digits)) > 3):
            return None
        return self._make_insert_reading(unit, first.value, second)

    def _make_insert_reading(self, unit: str, first: int, second: Atom) -> PlaceReading:
        low, high = sorted((first, second.value))
        doubts: tuple[str, ...] = ()
        if unit.startswith("page"):
            before, after = self._place_of_page(low), self._place_of_page(high)
            leaves = (int(before.leaf), int(after.leaf))
            if leaves[0] == leaves[1]:
                doubts = (
                    (
                        f"pages {low} and {high} are the two sides of leaf {leaves[0]}; "
                        "nothing can lie between them"
                    ),
                )
                leaves = (leaves[0], leaves[0] + 1)
        else:
            leaves = (low, high)
        if leaves[1] - leaves[0] != 1 and not doubts:
            doubts = (f"leaves {leaves[0]} and {leaves[1]} don't follow each other",)
        return PlaceReading(place=make_insert(*leaves), end=second.end, doubts=doubts)

    def _read_named(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        for words, name in _NAMED:
            end = _match(tokens, start, words, skip=frozenset({"of", "the"}))
            if end is not None:
                place = Place(leaf=name)
                if not place.has_sides:
                    return PlaceReading(place=place, has_side=True, end=end)
                side, end = _read_side(tokens, end)
                place = Place(leaf=name, side=side or Side.RECTO)
                return PlaceReading(place=place, has_side=side is not None, end=end)
        return None

    def _read_step(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        best: PlaceReading | None = None
        for words, step in _STEPS:
            if words[0] != tokens[start].norm:
                continue
            end = _match(tokens, start, words, skip=frozenset({"the"}))
            if end is not None and (best is None or end > best.end):
                best = PlaceReading(step=step, end=end)
        return best

    def _read_number_first(self, tokens: Sequence[Token], start: int) -> PlaceReading | None:
        """Read "fourteen recto", "14r" and "the third leaf"."""
        ordinal = read_ordinal(tokens, start)
        if ordinal is not None:
            if _word(tokens, ordinal.end) not in LEAF_WORDS:
                return None
            side, end = _read_side(tokens, ordinal.end + 1)
            place = Place(leaf=str(ordinal.value), side=side or Side.RECTO)
            return PlaceReading(place=place, has_side=side is not None, end=end)
        if tokens[start].norm == "a":
            return None
        number = read_whole_number(tokens, start)
        if number is None or len(number.digits) > 3 or number.value == 0:
            return None
        letter = ""
        end = number.end
        if end < len(tokens) and tokens[end].glued and tokens[end].norm in _SIDE_LETTERS:
            if tokens[start].norm.isdigit():
                side = _SIDE_LETTERS[tokens[end].norm]
                place = Place(leaf=str(number.value), side=side)
                return PlaceReading(place=place, has_side=True, end=end + 1)
            return None
        if _is_glued_label(tokens, start, end):
            place = Place(leaf=f"{number.value}{tokens[end].norm.upper()}", side=Side.RECTO)
            side, after = _read_side(tokens, end + 1)
            if side is not None:
                return PlaceReading(
                    place=Place(leaf=place.leaf, side=side), has_side=True, end=after
                )
            return PlaceReading(place=place, end=end + 1)
        follows = end < len(tokens) and tokens[end].norm
        if follows in _LABEL_LETTERS:
            letter, end = follows.upper(), end + 1
        if _word(tokens, end) in SIDE_WORDS:
            place = Place(leaf=f"{number.value}{letter}", side=SIDE_WORDS[_word(tokens, end)])
            return PlaceReading(place=place, has_side=True, end=end + 1)
        return None


def _read_leaf_number(
    tokens: Sequence[Token], index: int, item_starts: frozenset[int] = frozenset()
) -> Atom | None:
    if index >= len(tokens) or tokens[index].norm in {"a", "oh", "zero"}:
        return None
    number = read_whole_number(tokens, index)
    if number is None or number.value == 0 or len(number.digits) > 4:
        return None
    after = number.end
    # "leaf one two postcards": the second number counts the postcards.
    first = read_atom(tokens, index)
    if first and first.end < after and len(number.digits) > 1:
        near = [_word(tokens, at) for at in range(after, after + 3)]
        if any(
            word.endswith("s") and word.isalpha()
            for word in near[: 3 if after in item_starts else 1]
        ):
            return first
    return number


def _read_label_letter(
    tokens: Sequence[Token], index: int, item_starts: frozenset[int]
) -> tuple[str, int]:
    if index >= len(tokens):
        return "", index
    token = tokens[index]
    if token.norm in RADIO_ALPHABET and len(token.norm) > 1:
        return RADIO_ALPHABET[token.norm], index + 1
    if token.norm not in _LABEL_LETTERS:
        return "", index
    if token.glued:
        return token.norm.upper(), index + 1
    following = tokens[index + 1] if index + 1 < len(tokens) else None
    if token.norm == "a" and not token.text.isupper():
        is_article = index + 1 in item_starts or (
            following is not None
            and following.is_word
            and following.norm not in {*SIDE_WORDS, "blank", "is", "both", "an", "the", "a", "has"}
        )
        return ("", index) if is_article else ("A", index + 1)
    return token.norm.upper(), index + 1


def _read_side(tokens: Sequence[Token], index: int) -> tuple[Side | None, int]:
    """Read a side after a leaf: "recto", ", verso", "the back", "v"."""
    at = index
    while _word(tokens, at) in {",", "the", "on", "is", "its"}:
        at += 1
    word = _word(tokens, at)
    if word in SIDE_WORDS:
        return SIDE_WORDS[word], at + 1
    if (
        at == index
        and word in _SIDE_LETTERS
        and (tokens[at].glued or at + 1 >= len(tokens) or not tokens[at + 1].is_word)
    ):
        return _SIDE_LETTERS[word], at + 1
    if word in {"front", "back"} and _word(tokens, at + 1) in {"side", ",", ".", "", "blank"}:
        is_side = _word(tokens, at + 1) == "side" or at == index
        if is_side:
            side = Side.RECTO if word == "front" else Side.VERSO
            return side, at + 1 + (_word(tokens, at + 1) == "side")
    return None, index


def _names_other_side(tokens: Sequence[Token], index: int, side: Side) -> bool:
    """Whether "and verso" follows a recto, so that the whole leaf is meant."""
    other = SIDE_WORDS.get(_word(tokens, index + 1))
    return _word(tokens, index) == "and" and other is not None and other is not side


def _is_glued_label(tokens: Sequence[Token], start: int, end: int) -> bool:
    """Whether "7B" stands here: digits with one of the letters that labels use."""
    return (
        end == start + 1
        and tokens[start].norm.isdigit()
        and end < len(tokens)
        and tokens[end].glued
        and tokens[end].norm in _LABEL_LETTERS
    )


def _match(
    tokens: Sequence[Token], start: int, words: tuple[str, ...], *, skip: frozenset[str]
) -> int | None:
    if tokens[start].norm != words[0]:
        return None
    index = start + 1
    for word in words[1:]:
        while _word(tokens, index) in skip and _word(tokens, index) != word:
            index += 1
        if _word(tokens, index) != word:
            return None
        index += 1
    return index


def _word(tokens: Sequence[Token], index: int) -> str:
    return tokens[index].norm if 0 <= index < len(tokens) else ""
