"""The order in which entries are shown: volume by volume, leaf by leaf, item by item."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol, TypeVar

from voicelog.domain.entry import Kind, Side
from voicelog.domain.place import place_order


class Placed(Protocol):
    """What of an entry decides where it is shown."""

    @property
    def kind(self) -> Kind: ...  # noqa: D102 - as in Entry
    @property
    def accession(self) -> str | None: ...  # noqa: D102
    @property
    def volume(self) -> str | None: ...  # noqa: D102
    @property
    def leaf(self) -> str | None: ...  # noqa: D102
    @property
    def side(self) -> Side | None: ...  # noqa: D102
    @property
    def item(self) -> int | None: ...  # noqa: D102


PlacedThing = TypeVar("PlacedThing", bound=Placed)
_PlaceKey = tuple[int, int, str, int, int]


def in_display_order(things: Iterable[PlacedThing]) -> list[PlacedThing]:
    """Return entries in display order.

    Args:
        things: the entries in the order in which they came into being; it decides the order
            of volumes, and between entries in the same place.
    """
    given = list(things)
    ranks: dict[tuple[str | None, str | None], int] = {}
    # A volume has few places and many entries in each.
    places: dict[tuple[str | None, Side | None], _PlaceKey] = {}
    for thing in given:
        ranks.setdefault((thing.accession, thing.volume), len(ranks))
        place = (thing.leaf, thing.side)
        if place not in places:
            places[place] = place_order(*place)
    return sorted(
        given,
        key=lambda thing: (
            ranks[thing.accession, thing.volume],
            thing.kind is not Kind.VOLUME,
            places[thing.leaf, thing.side],
            thing.kind is Kind.ITEM,
            thing.item or 0,
        ),
    )
