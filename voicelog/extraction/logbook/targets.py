"""Finding the entries that a value belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from voicelog.domain.entry import Entry, Kind
from voicelog.domain.place import FRONT_COVER
from voicelog.domain.statement import Subject, Target

if TYPE_CHECKING:
    from voicelog.extraction.logbook.application import Application

VOLUME_FIELDS = frozenset({"binding", "support", "overlay", "leaves"})
_COVERS = frozenset({"front cover", "back cover", "inside front cover", "inside back cover"})


def resolve(work: Application, target: Target, *, field: str | None) -> list[Entry]:
    """Return the entries that a statement is about, made when there are none.

    An attribute belongs to the item before it, else to the latest item of the side, else to
    the leaf; before the first leaf it belongs to the volume. A named subject wins.
    """
    if field in VOLUME_FIELDS:
        return [_volume(work)]
    match target.subject:
        case Subject.VOLUME:
            return [_volume(work)]
        case Subject.LEAF:
            return [_leaf(work)]
        case Subject.COVER:
            return [_cover(work)]
        case Subject.ITEM:
            others = [
                _item(work, Target(subject=Subject.ITEM, item_type=one)) for one in target.also
            ]
            return [*others, _item(work, target)]
        case Subject.ALL:
            return _all_items(work, target)
        case Subject.LATEST:
            latest = work.register.find(work.context.latest)
            return [latest] if latest is not None else [_nearest(work)]
        case Subject.NEAREST:
            return [_nearest(work)]


def _nearest(work: Application) -> Entry:
    if work.asked is not None:
        return work.register.get(work.asked)
    if work.opened:
        return work.register.get(work.opened[-1])
    items = work.register.items_of(work.side_key())
    return items[-1] if items else _leaf(work)


def _leaf(work: Application) -> Entry:
    if work.context.leaf is None:
        return _volume(work)
    return work.leaf_entry(work.context.leaf, work.context.side)


def _cover(work: Application) -> Entry:
    leaf = work.context.leaf if work.context.leaf in _COVERS else FRONT_COVER
    return work.leaf_entry(leaf or FRONT_COVER, None)


def _volume(work: Application) -> Entry:
    found = work.register.find(work.context.volume)
    if found is not None:
        return found
    made = work.make_entry(Kind.VOLUME)
    work.context = replace(work.context, volume=made.id)
    return made


def _item(work: Application, target: Target) -> Entry:
    items = work.register.items_of(work.side_key())
    named = [one for one in items if target.item_type is None or target.item_type in one.item_type]
    if target.ordinal is not None:
        return _counted(work, target, named)
    if named:
        return named[-1]
    if target.item_type is None:
        return _nearest(work)
    opened = work.open_item((target.item_type,), 1, ())
    unknown = (f"no {target.item_type} was named on this side before",)
    return work.doubt(opened, unknown, "item_type")


def _counted(work: Application, target: Target, items: Sequence[Entry]) -> Entry:
    """Return the item that "the third one" counts.

    Where several were just named together it is one of them, else one of the whole side. Where
    there are too few items, their pieces are counted: the second of "two postcards" is that
    entry, with a doubt, since not all of it was meant.
    """
    number = target.ordinal or 0
    just_named = work.opened or work.context.together
    together = [one for one in items if one.id in just_named]
    is_choice = target.item_type is None and sum(one.quantity for one in together) > 1
    for group in (together, items) if is_choice else (items,):
        entry, piece = _find_counted(group, number)
        if entry is None:
            continue
        if entry.quantity == 1:
            return entry
        one_only = f"only number {piece} of these {entry.quantity} was meant"
        return work.doubt(entry, (one_only,), "quantity")
    missing = f"there is no item number {number} on this side"
    return work.doubt(_nearest(work), (missing,), "item")


def _find_counted(items: Sequence[Entry], number: int) -> tuple[Entry | None, int]:
    """Return the item with this number, else the one that the piece of this number is of.

    Returns:
        the item, or None where there are not so many, and which of its pieces is meant, from 1.
    """
    if 0 < number <= len(items):
        return items[number - 1], 1
    for item in items:
        if 0 < number <= item.quantity:
            return item, number
        number -= item.quantity
    return None, 0


def _all_items(work: Application, target: Target) -> list[Entry]:
    """Return the items that "both" and "all" cover.

    In a note that names items: those. In a note of its own: the items just named together,
    that is the last note's items, or the last two; two pieces that are one entry are one.
    """
    items = work.register.items_of(work.side_key())
    if target.item_type is not None:
        named = [one for one in items if target.item_type in one.item_type]
        if named:
            return named
    here = [work.register.get(one) for one in work.opened]
    if here:
        return here
    together = [one for one in items if one.id in work.context.together]
    if len(together) > 1:
        return together
    if items and items[-1].quantity > 1:
        return [items[-1]]
    return items[-2:] or [_leaf(work)]
