"""Every side of a volume in the order in which one turns it, logged or not."""

from __future__ import annotations

from collections.abc import Iterable

from voicelog.domain.entry import Side
from voicelog.domain.place import (
    BACK_COVER,
    FRONT_COVER,
    INSIDE_BACK_COVER,
    INSIDE_FRONT_COVER,
    Place,
    place_order,
)

MOST_LEAVES_FILLED = 1_000
"""No volume is filled up beyond this leaf: one misheard number would make a million sides."""

_ALWAYS_THERE = (FRONT_COVER, INSIDE_FRONT_COVER, INSIDE_BACK_COVER, BACK_COVER)


def list_sides(logged: Iterable[Place], *, leaves: int | None = None) -> tuple[Place, ...]:
    """Return the covers and every side of every leaf, in order.

    The four sides of the covers are always there, and both sides of every leaf from 1 to
    the last one; what else the log names (spine, flyleaves, leaf 7A, inserts) stands where it
    belongs. Nothing that was logged is left out.

    Args:
        logged: the places that the log names; a leaf without a side stands for both.
        leaves: how many leaves the volume has, or None to go up to the last one logged.

    >>> sides = list_sides([Place(leaf="1", side=Side.RECTO)])
    >>> [f"{place.leaf} {place.side or ''}".strip() for place in sides]
    ['front cover', 'inside front cover', '1 recto', '1 verso', 'inside back cover', 'back cover']
    """
    places = tuple(logged)
    wanted = {Place(leaf=leaf): None for leaf in _ALWAYS_THERE}
    numbers = [place.number for place in places if place.has_sides and place.number is not None]
    last = leaves if leaves is not None else max(numbers, default=0)
    for number in range(1, min(last, MOST_LEAVES_FILLED) + 1):
        wanted |= dict.fromkeys(_both_sides(str(number)))
    for place in places:
        sides = _both_sides(place.leaf) if place.has_sides else (Place(leaf=place.leaf),)
        wanted |= dict.fromkeys(sides)
    return tuple(sorted(wanted, key=lambda place: place_order(place.leaf, place.side)))


def _both_sides(leaf: str) -> tuple[Place, Place]:
    return Place(leaf=leaf, side=Side.RECTO), Place(leaf=leaf, side=Side.VERSO)
