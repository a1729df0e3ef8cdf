"""The work list, page by page: whole leaves together, as many as a person takes in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from voicelog.domain.entry import Side
from voicelog.store.worklist import Order, Placed, VolumeKey

ROWS_ON_A_PAGE = 40
"""A page is full once it holds this many rows and the leaf is done."""
MOST_ROWS_OF_A_LEAF = 120
"""Of one leaf; more are carried over, so that no page ever becomes slow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkPage:
    """One page of a work list.

    Attributes:
        number: which page this is, from 1.
        of: how many there are; at least 1.
        entries: what stands on it.
        total: how many entries the whole list has.
    """

    number: int
    of: int
    entries: tuple[Placed, ...]
    total: int


def cut_into_pages(
    entries: Sequence[Placed], *, order: Order = Order.BOOK
) -> tuple[tuple[Placed, ...], ...]:
    """Cut a work list into pages; in the order of the book no leaf is torn apart.

    There is always a first page, if need be an empty one.
    """
    if order is Order.DOUBTFUL_FIRST:
        leaves = [[entry] for entry in entries]
    else:
        leaves = [
            part
            for _, group in groupby(entries, key=lambda entry: (entry.volume, entry.leaf))
            for part in _in_parts(list(group))
        ]
    pages: list[tuple[Placed, ...]] = []
    filling: list[Placed] = []
    for leaf in leaves:
        is_next_volume = order is Order.BOOK and filling and filling[-1].volume != leaf[0].volume
        if len(filling) >= ROWS_ON_A_PAGE or is_next_volume:
            pages.append(tuple(filling))
            filling = []
        filling += leaf
    if filling or not pages:
        pages.append(tuple(filling))
    return tuple(pages)


def choose_page(
    entries: Sequence[Placed],
    *,
    order: Order,
    number: int = 1,
    place: tuple[str, Side | None] | None = None,
    id_: str | None = None,
    volume: VolumeKey | None = None,
) -> WorkPage:
    """Return the page of this number, or the one that shows a place or an entry.

    A number beyond the last page gives the last; a place that has no entries gives the page
    asked for by number.
    """
    pages = cut_into_pages(entries, order=order)
    chosen = min(max(number, 1), len(pages))
    if id_ is not None or place is not None:
        for at, page in enumerate(pages, start=1):
            if any(_is_wanted(entry, place=place, id_=id_, volume=volume) for entry in page):
                chosen = at
                break
    return WorkPage(number=chosen, of=len(pages), entries=pages[chosen - 1], total=len(entries))


def _is_wanted(
    entry: Placed,
    *,
    place: tuple[str, Side | None] | None,
    id_: str | None,
    volume: VolumeKey | None,
) -> bool:
    if id_ is not None:
        return entry.id == id_
    if place is None or (volume is not None and entry.volume != volume):
        return False
    leaf, side = place
    # What was said of both sides is found from either.
    return entry.leaf == leaf and (side is None or entry.side in {side, None})


def _in_parts(entries: list[Placed]) -> list[list[Placed]]:
    return [
        entries[first : first + MOST_ROWS_OF_A_LEAF]
        for first in range(0, len(entries), MOST_ROWS_OF_A_LEAF)
    ]
