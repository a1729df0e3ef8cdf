"""The closing count: what lies in a box, said before the lid goes on.

Grammar::

    count  := [opening] box ("holds" | "contains" | "has" | ":") things
            | [opening] box "," things                 where the volume is one of them
    box    := ("in" | "into")? "box" number
    things := thing (("," | "and" | "plus" | "with")+ thing)*
    thing  := "the volume" | "both volumes" | number "volumes" | "volume" number
            | [number | "no" | "a"] enclosure          "nine envelopes", "no folders"
            | enclosure number list                    "envelopes one to seven and nine"

"box one holds the volume, two folders and nine envelopes"; "in box 2: volume 2, envelopes
1 to 4". Anything else in between, and it is no closing count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from voicelog.errors import ParseError
from voicelog.extraction.numbers.cardinals import read_whole_number
from voicelog.extraction.numbers.lists import read_number_list
from voicelog.extraction.tokens import Token, tokenize

_KINDS = {
    "envelope": "envelope", "envelopes": "envelope",
    "folder": "folder", "folders": "folder",
    "sleeve": "sleeve", "sleeves": "sleeve",
    "wrapper": "four-flap wrapper", "wrappers": "four-flap wrapper",
}  # fmt: skip
_OPENING = (
    ("closing", "count"), ("the", "closing", "count", "is"), ("okay",), ("so",), ("now",), ("and",),
    ("right",), ("count",), ("final", "count"),
)  # fmt: skip
_JOINS = frozenset({"holds", "contains", "has", "holding", "containing", "with", "takes", ":"})
_BETWEEN = frozenset({"and", ",", "plus", "with", ";", "also", "then"})
_BOOKS = frozenset({"volume", "book", "album", "scrapbook"})
_FORM = "say it like 'box one holds the volume, two folders and nine envelopes'"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosingCount:
    """What was said to lie in one box.

    Attributes:
        box: "box 1".
        words: the words as they were said.
        volumes: how many volumes were counted without a number; None where none was spoken of.
        named_volumes: the numbers of volumes that were named.
        counted: how many enclosures of a kind, where only a number was said.
        named: enclosures that were named by their numbers: "envelope 7".
    """

    box: str
    words: str
    volumes: int | None = None
    named_volumes: tuple[str, ...] = ()
    counted: dict[str, int] = field(default_factory=dict)
    named: tuple[str, ...] = ()


def parse_closing_count(text: str) -> ClosingCount:
    """Return the closing count that a text states.

    >>> count = parse_closing_count("box one holds the volume, two folders and nine envelopes")
    >>> count.box, count.volumes, count.counted
    ('box 1', 1, {'folder': 2, 'envelope': 9})
    >>> parse_closing_count("box 2: volume 2, envelopes 1 to 3").named
    ('envelope 1', 'envelope 2', 'envelope 3')

    Raises:
        ParseError: it is none.
    """
    found = find_closing_count(tokenize(text), text)
    if found is None:
        raise ParseError(f"{text!r} is no closing count; {_FORM}.", text=text)
    return found


def find_closing_count(tokens: Sequence[Token], text: str) -> ClosingCount | None:
    """Return the closing count that a whole note states, or None.

    Args:
        tokens: the note's tokens.
        text: the note's text.
    """
    tokens = _without_flaps(tokens)
    end = len(tokens)
    while end and not tokens[end - 1].is_word:
        end -= 1
    index = _skip_opening(tokens)
    if _norm(tokens, index) in {"in", "into"}:
        index += 1
    if _norm(tokens, index) != "box":
        return None
    number = read_whole_number(tokens, index + 1) if index + 1 < end else None
    if number is None:
        return None
    index = number.end
    joined = False
    while (word := _norm(tokens, index)) in _JOINS or word == ",":
        joined = joined or word in _JOINS
        index += 1
    tally = _Tally(tokens, end)
    if not tally.read(index):
        return None
    # "box one, envelope seven" says where an item goes; with the volume in it, it is a count.
    if not joined and tally.volumes is None and not tally.named_volumes:
        return None
    return ClosingCount(
        box=f"box {number.value}",
        words=text.strip(),
        volumes=tally.volumes,
        named_volumes=tuple(dict.fromkeys(tally.named_volumes)),
        counted=tally.counted,
        named=tuple(dict.fromkeys(tally.named)),
    )


class _Tally:
    """Adds up the things of one count while they are read."""

    def __init__(self, tokens: Sequence[Token], end: int) -> None:
        self._tokens = tokens
        self._end = end
        self.volumes: int | None = None
        self.named_volumes: list[str] = []
        self.counted: dict[str, int] = {}
        self.named: list[str] = []

    def read(self, index: int) -> bool:
        """Read all things from ``index`` on; False where something else is among them."""
        while index < self._end:
            after = self._read_thing(index)
            if after is None:
                return False
            index = after
            while index < self._end and self._word(index) in _BETWEEN:
                index += 1
        return self.volumes is not None or bool(self.named_volumes or self.counted or self.named)

    def _read_thing(self, index: int) -> int | None:
        amount = 1
        said_amount = False
        if self._word(index) in {"the", "a", "an", "one"} and self._names(index + 1):
            index += 1
        elif self._word(index) == "both" and self._word(index + 1) == "volumes":
            amount, said_amount, index = 2, True, index + 1
        elif self._word(index) == "no" and self._names(index + 1):
            amount, said_amount, index = 0, True, index + 1
        else:
            number = read_whole_number(self._tokens, index)
            if number is not None and self._names(number.end):
                amount, said_amount, index = number.value, True, number.end
        word = self._word(index)
        if word in _BOOKS or word.removesuffix("s") in _BOOKS:
            return self._read_volume(index + 1, amount, said_amount=said_amount)
        if word in _KINDS:
            return self._read_enclosure(index + 1, _KINDS[word], amount, said_amount=said_amount)
        return None

    def _read_volume(self, index: int, amount: int, *, said_amount: bool) -> int:
        listed = None if said_amount else self._read_numbers(index)
        if listed is not None:
            self.named_volumes += map(str, listed[0])
            return listed[1]
        self.volumes = (self.volumes or 0) + amount
        return index

    def _read_enclosure(self, index: int, kind: str, amount: int, *, said_amount: bool) -> int:
        listed = None if said_amount else self._read_numbers(index)
        if listed is not None:
            self.named += (f"{kind} {number}" for number in listed[0])
            return listed[1]
        self.counted[kind] = self.counted.get(kind, 0) + amount
        return index

    def _read_numbers(self, index: int) -> tuple[tuple[int, ...], int] | None:
        if index >= self._end:
            return None
        # "envelopes one to three and two folders": the two counts folders.
        listed = read_number_list(
            self._tokens, index, may_follow=lambda after: not self._names(after)
        )
        return None if listed is None else (listed.numbers, listed.end)

    def _names(self, index: int) -> bool:
        """Whether a thing that can lie in a box is named here."""
        word = self._word(index)
        return word in _KINDS or word.removesuffix("s") in _BOOKS

    def _word(self, index: int) -> str:
        return _norm(self._tokens, index) if index < self._end else ""


def _skip_opening(tokens: Sequence[Token]) -> int:
    index = 0
    while True:
        for words in _OPENING:
            if tuple(token.norm for token in tokens[index : index + len(words)]) == words:
                index += len(words)
                break
        else:
            if _norm(tokens, index) not in {",", ":"}:
                return index
            index += 1


def _without_flaps(tokens: Sequence[Token]) -> list[Token]:
    """Return "four-flap wrappers" as "wrappers", so that the flaps are not counted."""
    kept: list[Token] = []
    for token in tokens:
        if token.norm in {"wrapper", "wrappers"} and [one.norm for one in kept[-2:]] in (
            ["four", "flap"],
            ["4", "flap"],
        ):
            del kept[-2:]
        kept.append(token)
    return kept


def _norm(tokens: Sequence[Token], index: int) -> str:
    return tokens[index].norm if 0 <= index < len(tokens) else ""
