"""The openings of a volume: which two pages face each other, and what lies between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voicelog.domain.entry import Access, Entry, Kind, Side
from voicelog.domain.place import (
    BACK_FLYLEAF,
    FLYLEAF,
    INSIDE_BACK_COVER,
    INSIDE_FRONT_COVER,
    Place,
    place_order,
)
from voicelog.housing.volumes import HousedVolume, Numbered


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page (or the inside of a cover) and what the log says of it.

    Attributes:
        place: where it is.
        rows: the entries of this page, in display order.
        is_known: whether the log says anything of it, blank included.
    """

    place: Place
    rows: tuple[Numbered, ...]
    is_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """Two facing pages as the open volume shows them.

    Attributes:
        left: the page on the left.
        right: the page on the right.
        inserts: entries of what was found loose between them.
    """

    left: Page
    right: Page
    inserts: tuple[Numbered, ...]

    @property
    def title(self) -> str:
        """The opening as a heading names it."""
        return f"{format_place(self.left.place)} | {format_place(self.right.place)}"


def format_place(place: Place) -> str:
    """Return a place as a label names it.

    >>> format_place(Place(leaf="14", side=Side.RECTO)), format_place(Place(leaf="back cover"))
    ('leaf 14 recto', 'back cover')
    >>> format_place(Place(leaf="between 8 and 9"))
    'between leaves 8 and 9'
    """
    if place.is_insert:
        return place.leaf.replace("between ", "between leaves ")
    named = f"leaf {place.leaf}" if place.leaf[:1].isdecimal() else place.leaf
    return f"{named} {place.side}" if place.side else named


def find_leaves(volume: HousedVolume) -> tuple[str, ...]:
    """Return the labels of all leaves in order, flyleaves that were named included.

    Leaves 1 to the number said, or to the highest one named, are all there, whether or not
    somebody spoke of them; 7A and 7B only where named.
    """
    named = {entry.leaf for _, entry in volume.rows if entry.leaf is not None}
    places = [Place(leaf=leaf) for leaf in named]
    leaves = {place.leaf for place in places if place.has_sides}
    said = volume.entry.leaves if volume.entry is not None else None
    highest = max((place.number or 0 for place in places), default=0)
    plain = {str(number) for number in range(1, max(said or 0, highest) + 1)}
    # Where 7A and 7B were named and 7 was not, the two are what leaf 7 is.
    split = {str(Place(leaf=leaf).number) for leaf in leaves if leaf[-1:].isalpha()} - leaves
    return tuple(sorted(leaves | (plain - split), key=lambda leaf: place_order(leaf, None)))


def find_openings(volume: HousedVolume) -> tuple[Opening, ...]:
    """Return the openings in order: inside front cover and first recto, ..., inside back cover.

    A volume of n leaves has n + 1 of them.
    """
    leaves = find_leaves(volume)
    places = [Place(leaf=INSIDE_FRONT_COVER)]
    for leaf in leaves:
        places += [Place(leaf=leaf, side=Side.RECTO), Place(leaf=leaf, side=Side.VERSO)]
    places.append(Place(leaf=INSIDE_BACK_COVER))
    by_leaf: dict[str, list[Numbered]] = {}
    for row in volume.rows:
        by_leaf.setdefault(row[1].leaf or "", []).append(row)
    pages = [_make_page(by_leaf.get(place.leaf, ()), place) for place in places]
    inserts = [row for row in volume.rows if (row[1].leaf or "").startswith("between ")]
    return tuple(
        Opening(left=left, right=right, inserts=_find_inserts(inserts, left))
        for left, right in zip(pages[::2], pages[1::2], strict=True)
    )


def find_private_places(volume: HousedVolume) -> frozenset[Place]:
    """Return the pages and covers whose picture would show something restricted.

    What was found loose between two leaves may be seen on both pages of its opening.
    """
    private: set[Place] = set()
    for opening in find_openings(volume):
        between = any(entry.access is Access.RESTRICTED for _, entry in opening.inserts)
        for page in (opening.left, opening.right):
            if between or any(entry.access is Access.RESTRICTED for _, entry in page.rows):
                private.add(page.place)
    private.update(
        Place(leaf=entry.leaf)
        for _, entry in volume.rows
        if entry.leaf is not None and entry.access is Access.RESTRICTED
    )
    return frozenset(private)


def _make_page(of_leaf: Iterable[Numbered], place: Place) -> Page:
    rows = tuple(row for row in of_leaf if _belongs(row[1], place))
    return Page(place=place, rows=rows, is_known=bool(rows))


def _belongs(entry: Entry, place: Place) -> bool:
    if entry.side is not None or place.side is None:
        return entry.side is place.side
    # A leaf without a side means both sides of it; an item lies on the recto unless said.
    return entry.kind is Kind.LEAF or place.side is Side.RECTO


def _find_inserts(inserts: Iterable[Numbered], left: Page) -> tuple[Numbered, ...]:
    """What lies between two leaves lies in the opening after the first of them."""
    if left.place.leaf in {INSIDE_FRONT_COVER, FLYLEAF, BACK_FLYLEAF}:
        return ()
    begins = f"between {left.place.leaf} and "
    return tuple(row for row in inserts if (row[1].leaf or "").startswith(begins))
