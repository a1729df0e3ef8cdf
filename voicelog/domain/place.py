"""Places in a volume: covers, flyleaves, leaves, inserts, and the way between them.

Leaves are counted, pages are converted: page p is leaf ``(p + 1) // 2``, odd pages
are rectos (common practice in foliation, no published source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from voicelog.domain.entry import Side
from voicelog.errors import ParseError

FRONT_COVER = "front cover"
INSIDE_FRONT_COVER = "inside front cover"
FLYLEAF = "flyleaf"
BACK_FLYLEAF = "back flyleaf"
INSIDE_BACK_COVER = "inside back cover"
BACK_COVER = "back cover"
SPINE = "spine"
POCKET = "pocket"

_BEFORE_LEAVES = (FRONT_COVER, SPINE, INSIDE_FRONT_COVER, FLYLEAF)
_AFTER_LEAVES = (BACK_FLYLEAF, POCKET, INSIDE_BACK_COVER, BACK_COVER)
NAMED_PLACES: tuple[str, ...] = (*_BEFORE_LEAVES, *_AFTER_LEAVES)

_LEAF = re.compile(r"(\d+)([A-Z]?)")
_INSERT = re.compile(r"between (\d+)([A-Z]?) and (\d+)([A-Z]?)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A leaf (or cover, flyleaf, insert) and, where it has sides, one of them.

    Attributes:
        leaf: "14", "7A", "front cover", "between 12 and 13", ...
        side: recto or verso; None on covers and inserts, or when both sides are meant.
    """

    leaf: str
    side: Side | None = None

    @property
    def number(self) -> int | None:
        """The leaf's number ("7A" has 7; an insert has that of the leaf before it)."""
        found = _LEAF.fullmatch(self.leaf) or _INSERT.fullmatch(self.leaf)
        return int(found[1]) if found else None

    @property
    def has_sides(self) -> bool:
        """Whether entries here name a side: leaves and flyleaves do."""
        return self.leaf in {FLYLEAF, BACK_FLYLEAF} or bool(_LEAF.fullmatch(self.leaf))

    @property
    def is_insert(self) -> bool:
        """Whether this is something found loose between two leaves."""
        return bool(_INSERT.fullmatch(self.leaf))


def parse_leaf(text: str) -> str:
    """Return the leaf label in the form that entries use.

    >>> parse_leaf("7a"), parse_leaf("014"), parse_leaf("Front Cover")
    ('7A', '14', 'front cover')

    Raises:
        ParseError: the text names no leaf, cover, flyleaf or insert.
    """
    wanted = " ".join(text.split())
    if wanted.lower() in NAMED_PLACES:
        return wanted.lower()
    upper = wanted.upper()
    if found := _LEAF.fullmatch(upper):
        return f"{int(found[1])}{found[2]}"
    if found := _INSERT.fullmatch(wanted.lower()):
        return f"between {int(found[1])}{found[2].upper()} and {int(found[3])}{found[4].upper()}"
    raise ParseError(
        f"{text!r} is not a leaf; write a number such as 14 or 7A, a cover, a flyleaf, "
        "or 'between 12 and 13'.",
        text=text,
    )


def describe_place(place: Place) -> str:
    """Return a place as it would be said.

    >>> describe_place(Place(leaf="14", side=Side.RECTO)), describe_place(Place(leaf="spine"))
    ('leaf 14 recto', 'spine')
    """
    leaf = f"leaf {place.leaf}" if place.leaf[:1].isdecimal() else place.leaf
    return f"{leaf} {place.side}" if place.side else leaf


def make_insert(first: str, second: str) -> Place:
    """Return the place between two leaves, in ascending order.

    >>> make_insert("13", "12").leaf, make_insert("7A", "8").leaf
    ('between 12 and 13', 'between 7A and 8')

    Raises:
        ParseError: one of them is no leaf number.
    """
    low, high = sorted((first, second), key=_label_parts)
    return Place(leaf=f"between {low} and {high}")


def is_next_label(label: str, following: str) -> bool:
    """Whether a leaf can come right after another.

    >>> is_next_label("7", "8"), is_next_label("7", "7A"), is_next_label("7A", "8")
    (True, True, True)
    >>> is_next_label("7", "9"), is_next_label("7", "7B")
    (False, False)
    """
    (number, letter), (next_number, next_letter) = _label_parts(label), _label_parts(following)
    if next_number == number:
        return ord(next_letter or "@") == ord(letter or "@") + 1
    return next_number == number + 1 and not next_letter


def _label_parts(label: str) -> tuple[int, str]:
    found = _LEAF.fullmatch(label)
    if found is None:
        raise ParseError(f"{label!r} is not a leaf number; write 14 or 7A.", text=label)
    return int(found[1]), found[2]


def leaf_of_page(page: int, *, first_page: int = 1) -> Place:
    """Return the leaf and side of a page.

    Args:
        page: the page's number, not below ``first_page``.
        first_page: the number of the page that is leaf 1 recto.

    >>> leaf_of_page(27)
    Place(leaf='14', side=<Side.RECTO: 'recto'>)
    """
    ordinal = page - first_page + 1
    side = Side.RECTO if ordinal % 2 else Side.VERSO
    return Place(leaf=str((ordinal + 1) // 2), side=side)


def next_leaf(place: Place | None) -> Place:
    """Return the recto that follows: after 7A comes 8, after an insert its second leaf."""
    if place is None or place.leaf in _BEFORE_LEAVES:
        return Place(leaf="1", side=Side.RECTO)
    if found := _INSERT.fullmatch(place.leaf):
        return Place(leaf=f"{found[3]}{found[4]}", side=Side.RECTO)
    number = place.number
    if number is None:
        return place
    return Place(leaf=str(number + 1), side=Side.RECTO)


def next_page(place: Place | None) -> Place:
    """Return the page that follows: recto to verso, verso to the next recto."""
    if place is not None and place.has_sides and place.side is not Side.VERSO:
        return Place(leaf=place.leaf, side=Side.VERSO)
    if place is not None and place.leaf == FRONT_COVER:
        return Place(leaf=INSIDE_FRONT_COVER)
    if place is not None and place.leaf == INSIDE_BACK_COVER:
        return Place(leaf=BACK_COVER)
    return next_leaf(place)


def previous_leaf(place: Place | None) -> Place:
    """Return the recto of the leaf before; before leaf 1 there is the inside front cover."""
    if place is not None and (found := _INSERT.fullmatch(place.leaf)):
        return Place(leaf=f"{found[1]}{found[2]}", side=Side.RECTO)
    number = place.number if place is not None else None
    if number is None or number <= 1:
        return Place(leaf=INSIDE_FRONT_COVER)
    return Place(leaf=str(number - 1), side=Side.RECTO)


def previous_page(place: Place | None) -> Place:
    """Return the page before: verso to recto, recto to the verso of the leaf before."""
    if place is not None and place.side is Side.VERSO:
        return Place(leaf=place.leaf, side=Side.RECTO)
    before = previous_leaf(place)
    return Place(leaf=before.leaf, side=Side.VERSO) if before.has_sides else before


def facing_page(place: Place) -> Place | None:
    """Return the side that faces this one in the opened volume, or None.

    A verso faces the next recto; the inside front cover faces leaf 1 recto.
    """
    if place.leaf == INSIDE_FRONT_COVER:
        return Place(leaf="1", side=Side.RECTO)
    number = place.number
    if number is None or place.is_insert:
        return None
    if place.side is Side.VERSO:
        return Place(leaf=str(number + 1), side=Side.RECTO)
    if number == 1:
        return Place(leaf=INSIDE_FRONT_COVER)
    return Place(leaf=str(number - 1), side=Side.VERSO)


def place_order(leaf: str | None, side: Side | None) -> tuple[int, int, str, int, int]:
    """Return a key that sorts places as they follow each other in the volume.

    No place (the volume itself) comes first; an insert follows the leaf before it.
    """
    side_rank = {None: 0, Side.RECTO: 1, Side.VERSO: 2}[side]
    if leaf is None:
        return (0, 0, "", 0, 0)
    if leaf in _BEFORE_LEAVES:
        return (1, _BEFORE_LEAVES.index(leaf), "", 0, side_rank)
    if leaf in _AFTER_LEAVES:
        return (3, _AFTER_LEAVES.index(leaf), "", 0, side_rank)
    if found := _LEAF.fullmatch(leaf):
        return (2, int(found[1]), found[2], 0, side_rank)
    if found := _INSERT.fullmatch(leaf):
        return (2, int(found[1]), found[2] or "", 1, side_rank)
    return (4, 0, leaf, 0, side_rank)
