"""What a file name tells about a scan, learnt from an example.

An example is a name and, after "is", what it shows::

    2031-007_1_014r.tif is volume 1, leaf 14 recto
    page-027.jpg is page 27
    DSC_0312.jpg is image 312
    cover-front.jpg is front cover

Grammar::

    example := name " is " [volume ","] what
    volume  := "volume" number
    what    := "leaf" label [side] | "page" number | "image" number | cover | flyleaf [side]

What the example names is looked for in the name; all else must be the same in every
name, except that ``*`` in the example stands for anything. Capitals and the file's ending
don't matter. Several examples are tried in their order.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import PurePath

from voicelog.domain.entry import Side
from voicelog.domain.place import NAMED_PLACES, Place, leaf_of_page
from voicelog.errors import ParseError

_SIDE_WORDS = (
    ("recto", "verso"), ("front", "back"), ("r", "v"), ("a", "b"),
)  # fmt: skip
"""How names tell the two sides apart; the longer words are looked for first."""
_SHOWN = re.compile(
    r"(?:volume (?P<volume>\w[^,]*?)\s*(?:,\s*|$))?"
    r"(?:(?:leaf )?(?P<leaf>\d+[a-z]?)(?: (?P<side>recto|verso))?"
    r"|page (?P<page>\d+)|image (?P<image>\d+)|(?P<named>[a-z][a-z ]*?)(?: (?P<of>recto|verso))?)?",
    re.IGNORECASE,
)
_EXAMPLE_FORM = (
    "write a file name and what it shows, such as '014r.jpg is leaf 14 recto', "
    "'page-027.jpg is page 27' or 'DSC_0312.jpg is image 312'"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedView:
    """What a name tells.

    Attributes:
        place: the side that it names, or None.
        number: the image number that it names, or None.
        volume: the number of the volume that it names, or None.
    """

    place: Place | None = None
    number: int | None = None
    volume: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NamePattern:
    """How one kind of file name tells what a scan shows.

    Attributes:
        expression: matches the whole name without its ending; its groups are ``volume``,
            ``leaf``, ``letter``, ``side``, ``page`` and ``image``, as far as named.
        place: the place that every such name shows, where the name holds no number.
        verso: the word that stands for the verso, or "" where the name tells no side.
    """

    expression: re.Pattern[str]
    place: Place | None = None
    verso: str = ""

    def read(self, name: str, *, first_page: int) -> NamedView | None:
        """Return what a file's name tells, or None where it has another form.

        Args:
            name: the file's name, with its ending.
            first_page: the page that is leaf 1 recto.
        """
        found = self.expression.fullmatch(PurePath(name).stem)
        if found is None:
            return None
        told = found.groupdict()
        volume = told.get("volume")
        return NamedView(
            place=self._place(told, first_page),
            number=int(told["image"]) if told.get("image") else None,
            volume=str(int(volume)) if volume and volume.isdecimal() else volume,
        )

    def _place(self, told: dict[str, str | None], first_page: int) -> Place | None:
        if page := told.get("page"):
            return leaf_of_page(int(page), first_page=first_page)
        side = self.place.side if self.place is not None else None
        if word := told.get("side"):
            side = Side.VERSO if word.casefold() == self.verso else Side.RECTO
        if leaf := told.get("leaf"):
            return Place(leaf=f"{int(leaf)}{(told.get('letter') or '').upper()}", side=side)
        return Place(leaf=self.place.leaf, side=side) if self.place is not None else None


def parse_example(text: str) -> NamePattern:
    """Return the pattern that an example of a file name states.

    >>> pattern = parse_example("2031-007_1_014r.tif is volume 1, leaf 14 recto")
    >>> pattern.read("2031-007_2_003v.jpg", first_page=1)
    NamedView(place=Place(leaf='3', side=<Side.VERSO: 'verso'>), number=None, volume='2')

    Raises:
        ParseError: it has no such form, or the name doesn't hold what it is said to show.
    """
    name, is_word, shown = text.rpartition(" is ")
    told = _SHOWN.fullmatch(" ".join(shown.split()))
    if not is_word or not name.strip() or told is None or not shown.strip():
        raise ParseError(f"{text!r} is no example of a file name; {_EXAMPLE_FORM}.", text=text)
    draft = _Draft(text, PurePath(name.strip()).stem)
    groups = told.groupdict()
    place = None
    side = (
        Side((groups["side"] or groups["of"]).lower()) if groups["side"] or groups["of"] else None
    )
    if groups["leaf"]:
        draft.name_leaf(groups["leaf"].upper())
        place = Place(leaf=groups["leaf"].upper(), side=side)
    elif groups["page"]:
        draft.name_number("page", int(groups["page"]))
    elif groups["image"]:
        draft.name_number("image", int(groups["image"]))
    elif groups["named"]:
        leaf = groups["named"].lower()
        if leaf not in NAMED_PLACES:
            raise ParseError(f"{leaf!r} in {text!r} is no place; {_EXAMPLE_FORM}.", text=text)
        place = Place(leaf=leaf, side=side)
    verso = draft.name_side(side) if side is not None else ""
    if groups["volume"]:
        draft.name_volume(groups["volume"])
    return NamePattern(expression=draft.make_expression(), place=place, verso=verso)


class _Draft:
    """A file name, part by part being replaced by what stands for it in other names."""

    def __init__(self, example: str, stem: str) -> None:
        self._example = example
        self._stem = stem
        self._taken: list[tuple[int, int, str]] = []

    def name_leaf(self, label: str) -> None:
        """Let the rightmost number that is the leaf's stand for any leaf."""
        digits, letter = re.fullmatch(r"(\d+)([A-Z]?)", label).groups()  # type: ignore[union-attr]
        self._name_last(
            rf"(?<!\d)0*{int(digits)}{letter}(?!\d)",
            r"(?P<leaf>\d+)(?P<letter>[a-z]?)",
            what=f"leaf {label}",
        )

    def name_number(self, group: str, number: int) -> None:
        """Let the rightmost number that is this one stand for any."""
        self._name_last(rf"(?<!\d)0*{number}(?!\d)", rf"(?P<{group}>\d+)", what=f"{group} {number}")

    def name_side(self, side: Side) -> str:
        """Let the word for the side stand for either; return the word for the verso."""
        for words in _SIDE_WORDS:
            word = words[side is Side.VERSO]
            at = rf"(?<![a-z]){word}(?![a-z])"
            if self._name_last(at, rf"(?P<side>{'|'.join(words)})", what=None):
                return words[1]
        return ""

    def name_volume(self, said: str) -> None:
        """Let the leftmost mention of the volume stand for any volume."""
        if said.isdecimal():
            self._name_first(rf"(?<!\d)0*{int(said)}(?!\d)", r"(?P<volume>\d+)", f"volume {said}")
        else:
            self._name_first(re.escape(said), r"(?P<volume>.+?)", f"volume {said}")

    def make_expression(self) -> re.Pattern[str]:
        """Return what matches every name of this form."""
        parts: list[str] = []
        at = 0
        for first, end, expression in sorted(self._taken):
            parts += [_literally(self._stem[at:first]), expression]
            at = end
        parts.append(_literally(self._stem[at:]))
        return re.compile("".join(parts), re.IGNORECASE)

    def _name_first(self, wanted: str, expression: str, what: str) -> None:
        self._name(list(re.finditer(wanted, self._stem, re.IGNORECASE)), expression, what)

    def _name_last(self, wanted: str, expression: str, *, what: str | None) -> bool:
        found = list(re.finditer(wanted, self._stem, re.IGNORECASE))[::-1]
        return self._name(found, expression, what)

    def _name(self, found: list[re.Match[str]], expression: str, what: str | None) -> bool:
        for match in found:
            first, end = match.span()
            if all(end <= begun or ended <= first for begun, ended, _ in self._taken):
                self._taken.append((first, end, expression))
                return True
        if what is None:
            return False
        raise ParseError(
            f"The name in {self._example!r} doesn't hold {what}; {_EXAMPLE_FORM}.",
            text=self._example,
        )


def _literally(text: str) -> str:
    return ".*".join(re.escape(part) for part in text.split("*"))
