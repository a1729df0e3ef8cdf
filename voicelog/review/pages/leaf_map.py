"""The leaf map: a small picture of a volume, opening by opening, one cell for each side.

A volume lies open at the verso of one leaf and the recto of the next, so that is how the
cells stand beside each other; the covers stand alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from voicelog.domain.entry import Side
from voicelog.domain.place import (
    BACK_COVER,
    BACK_FLYLEAF,
    FLYLEAF,
    FRONT_COVER,
    INSIDE_BACK_COVER,
    INSIDE_FRONT_COVER,
    NAMED_PLACES,
    Place,
    describe_place,
    place_order,
)
from voicelog.store.worklist import SideSummary

LONGEST_SILENCE = 12
"""Leaves in a row of which nothing was said; more are drawn as one gap."""

_SHORT = {
    FRONT_COVER: "front",
    INSIDE_FRONT_COVER: "in",
    FLYLEAF: "fly",
    BACK_FLYLEAF: "fly",
    INSIDE_BACK_COVER: "in",
    BACK_COVER: "back",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One side of a leaf, a cover, or an insert.

    Attributes:
        place: where it is.
        short: what stands in it, "14r".
        label: the same and everything the cell shows, in words.
        state: "silent" (nothing was said of it), "heard", "queried" or "confirmed".
        is_blank, is_imaged, is_loose: what else it shows.
        is_insert: whether it lies loose between two leaves.
    """

    place: Place
    short: str
    label: str
    state: str
    is_blank: bool = False
    is_imaged: bool = False
    is_loose: bool = False
    is_insert: bool = False

    @property
    def anchor(self) -> str:
        """Where the rows of the place stand on a page of the work list."""
        return anchor_of(self.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What lies open at once: a left side, what is laid in, a right side.

    Attributes:
        left, right: the sides; None beside a cover.
        inserts: what was found loose between them.
        gap: a sentence where many leaves were passed over, else empty.
    """

    left: Cell | None = None
    right: Cell | None = None
    inserts: tuple[Cell, ...] = ()
    gap: str = ""


def make_leaf_map(sides: Sequence[SideSummary], *, leaves: int | None) -> tuple[Opening, ...]:
    """Return the openings of a volume from front cover to back cover.

    Args:
        sides: what the log says about each side that was spoken of.
        leaves: how many leaves the volume was said to have, or None.
    """
    known = _Known(sides)
    openings: list[Opening] = [Opening(right=known.cell(Place(leaf=FRONT_COVER)))]
    left: Cell | None = known.cell(Place(leaf=INSIDE_FRONT_COVER))
    inserts: list[Cell] = []
    for step in _through(known, leaves):
        match step:
            case str():
                openings.append(Opening(left=left, inserts=tuple(inserts)))
                openings.append(Opening(gap=step))
                left, inserts = None, []
            case Place() if step.is_insert:
                inserts.append(known.cell(step))
            case Place():
                recto = Place(leaf=step.leaf, side=Side.RECTO)
                openings.append(Opening(left=left, right=known.cell(recto), inserts=tuple(inserts)))
                left, inserts = known.cell(Place(leaf=step.leaf, side=Side.VERSO)), []
    inside_back = known.cell(Place(leaf=INSIDE_BACK_COVER))
    openings.append(Opening(left=left, right=inside_back, inserts=tuple(inserts)))
    openings.append(Opening(left=known.cell(Place(leaf=BACK_COVER))))
    drawn = {FRONT_COVER, INSIDE_FRONT_COVER, INSIDE_BACK_COVER, BACK_COVER, FLYLEAF, BACK_FLYLEAF}
    openings += [
        Opening(inserts=(known.cell(Place(leaf=leaf)),))
        for leaf in known.labels
        if (leaf in NAMED_PLACES and leaf not in drawn) or Place(leaf=leaf).number is None
        if leaf not in drawn
    ]
    return tuple(openings)


def anchor_of(place: Place | None) -> str:
    """Return the name of a place in a page's address; None is the volume itself.

    >>> anchor_of(Place(leaf="14", side=Side.RECTO))
    'place-leaf-14-recto'
    """
    if place is None:
        return "place-volume"
    return "place-" + "-".join(describe_place(place).split())


class _Known:
    """What the log says, found by leaf and side."""

    def __init__(self, sides: Iterable[SideSummary]) -> None:
        self._sides = {(side.leaf, side.side): side for side in sides}
        self.labels = tuple(
            dict.fromkeys(
                leaf for leaf, _ in sorted(self._sides, key=lambda key: place_order(key[0], key[1]))
            )
        )

    def cell(self, place: Place) -> Cell:
        """Return the cell of a side; what was said of both sides counts for each."""
        keys = dict.fromkeys([(place.leaf, place.side), (place.leaf, None)])
        found = [self._sides[key] for key in keys if key in self._sides]
        heard, queried, confirmed = (
            sum(getattr(side, status) for side in found)
            for status in ("heard", "queried", "confirmed")
        )
        if queried:
            state = "queried"
        elif heard:
            state = "heard"
        else:
            state = "confirmed" if confirmed else "silent"
        is_blank = any(side.is_blank for side in found)
        loose = sum(side.loose for side in found)
        images = sum(side.images for side in found)
        told = [
            _count(heard + queried + confirmed, "entry", "entries") if found else "nothing said",
            f"{queried} queried" if queried else "",
            f"{confirmed} confirmed" if confirmed else "",
            "blank" if is_blank else "",
            "imaged" if images else "",
            f"{loose} loose" if loose else "",
        ]
        return Cell(
            place=place,
            short=_shorten(place),
            label=f"{describe_place(place)}: {', '.join(filter(None, told))}",
            state=state,
            is_blank=is_blank,
            is_imaged=bool(images),
            is_loose=bool(loose),
            is_insert=place.is_insert,
        )


def _through(known: _Known, leaves: int | None) -> Iterator[Place | str]:
    """Yield leaves and inserts in order, and a sentence for a long stretch of silence."""
    if FLYLEAF in known.labels:
        yield Place(leaf=FLYLEAF)
    numbered = [Place(leaf=leaf) for leaf in known.labels if Place(leaf=leaf).number is not None]
    reached = 0
    for place in numbered:
        number = place.number or 0
        yield from _silent(reached + 1, number)
        reached = max(reached, number)
        yield place
    if leaves is not None:
        yield from _silent(reached + 1, leaves + 1)
    if BACK_FLYLEAF in known.labels:
        yield Place(leaf=BACK_FLYLEAF)


def _silent(first: int, end: int) -> Iterator[Place | str]:
    if end - first > LONGEST_SILENCE:
        yield f"leaves {first} to {end - 1}: nothing said"
        return
    for number in range(first, end):
        yield Place(leaf=str(number))


def _shorten(place: Place) -> str:
    if place.number is not None and not place.is_insert:
        return f"{place.leaf}{(place.side or '')[:1]}"
    return _SHORT.get(place.leaf, "+" if place.is_insert else place.leaf[:6])


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
