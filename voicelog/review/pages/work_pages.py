"""The work list, page by page: whole leaves together, as many as a person takes in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from voicelog.domain.entry import Side
from voicelog.review.pages.wanted import Wanted
from voicelog.store.selection import Order, Selection, VolumeKey
from voicelog.store.worklist import Placed, WorkListLog

ROWS_ON_A_PAGE = 40
"""A page is full once it holds this many rows and the leaf is done."""
LARGE_LOG = 5_000
"""Entries; of a larger log, lists that are not of one volume are found stretch by stretch."""
MOST_COUNTED = 10_000
"""Entries that are counted one by one, where several filters meet in a large log."""
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
        has_more: whether there may be more pages than were counted.
    """

    number: int
    of: int
    entries: tuple[Placed, ...]
    total: int
    has_more: bool = False


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


def find_page(log: WorkListLog, wanted: Wanted) -> WorkPage:
    """Return the page of a log's work list that an address asks for.

    A list that may be as long as a large log is not gone through from its beginning: its pages
    have all the same length, and a leaf may be torn apart.
    """
    selection, order = wanted.select(), wanted.order
    if is_wide(log, selection):
        return _find_wide_page(log, wanted)
    return choose_page(
        log.place_entries(selection, order=order, also_first=log.waiting_in_sample()),
        order=order,
        number=wanted.page,
        place=wanted.place,
        id_=wanted.entry,
        volume=wanted.volume_key,
    )


def is_wide(log: WorkListLog, selection: Selection) -> bool:
    """Whether a list is too long to be gone through for every page of it."""
    return not selection.is_narrow and log.count_entries() > LARGE_LOG


def _find_wide_page(log: WorkListLog, wanted: Wanted) -> WorkPage:
    selection, order = wanted.select(), wanted.order
    total = log.count_some(selection, most=MOST_COUNTED)
    pages = max(1, -(-total // ROWS_ON_A_PAGE))
    number = min(max(wanted.page, 1), pages)
    if wanted.entry is not None:
        before = log.count_before(selection, wanted.entry, order=order)
        number = number if before is None else before // ROWS_ON_A_PAGE + 1
    first = (number - 1) * ROWS_ON_A_PAGE
    return WorkPage(
        number=number,
        of=max(pages, number),
        entries=log.place_some(selection, order=order, first=first, most=ROWS_ON_A_PAGE),
        total=total,
        has_more=total == MOST_COUNTED,
    )


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
