"""The mark written in pencil on a loose item and on its enclosure."""

from __future__ import annotations

from collections.abc import Callable
from itertools import chain, count

from voicelog.domain.act import is_decided
from voicelog.domain.entry import Entry, Side, Status

_SIDE_LETTERS = {Side.RECTO: "r", Side.VERSO: "v", None: ""}


def format_mark(entry: Entry, *, number: int | None = None) -> str | None:
    """Return the mark for an item: accession, volume, leaf with side, order on the side.

    Args:
        entry: the item.
        number: what stands for its order on the side, where that isn't free.

    None where the accession number or the place isn't known yet.

    >>> from voicelog.domain.entry import Kind
    >>> format_mark(Entry(id="x", kind=Kind.ITEM, accession="2031-007", volume="1",
    ...                   leaf="14", side=Side.RECTO, item=2))
    '2031-007 vol. 1, 14r, 2'
    """
    if entry.accession is None or entry.leaf is None or entry.item is None:
        return None
    volume = f" vol. {entry.volume}" if entry.volume is not None else ""
    order = entry.item if number is None else number
    return f"{entry.accession}{volume}, {entry.leaf}{_SIDE_LETTERS[entry.side]}, {order}"


def find_free_mark(entry: Entry, *, beyond: int, is_taken: Callable[[str], bool]) -> str | None:
    """Return the mark for an item that no other object carries.

    Usually it is the item's order on its side. Where an item that was moved or reordered
    carries that number already, it is the next one that no item of the side has.

    Args:
        entry: the item.
        beyond: the highest order on its side.
        is_taken: says whether another object carries a mark.

    >>> from voicelog.domain.entry import Kind
    >>> ticket = Entry(id="x", kind=Kind.ITEM, accession="2031-007", leaf="14",
    ...                side=Side.RECTO, item=1)
    >>> find_free_mark(ticket, beyond=3, is_taken={"2031-007, 14r, 1"}.__contains__)
    '2031-007, 14r, 4'
    """
    for number in chain([entry.item], count(beyond + 1)):
        mark = format_mark(entry, number=number)
        if mark is None or not is_taken(mark):
            return mark
    return None


def carries_mark(entry: Entry) -> bool:
    """Whether an object lies there with this mark on it.

    What a person made void may; what was struck at once never had a mark.
    """
    return entry.status is not Status.VOID or is_decided(entry, "status")
