"""One entry made two, two made one, and entries that a reviewer adds."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from voicelog.domain.context import Context
from voicelog.domain.entry import (
    FROM_CONTEXT,
    Doubt,
    Entry,
    Kind,
    Origin,
    Relation,
    Review,
    Status,
)
from voicelog.domain.note import Note
from voicelog.errors import ReviewError
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.review.acting import Acting, name_entry
from voicelog.review.placing import make_room

_PLACE = ("accession", "volume", "volume_name", "leaf", "side")
_LISTS = ("item_type", "attachment", "condition", "action", "images")
_SINGLE = (
    "adhesion", "enclosure", "date", "dimensions", "position", "binding", "support", "overlay",
    "leaves",
)  # fmt: skip
_JOINS = {"caption": " / ", "remark": "; "}


def split(act: Acting, entry: Entry, taken: Mapping[str, Any]) -> tuple[Entry, tuple[str, ...]]:
    """Make a second item of what belongs to it, right behind the first.

    Args:
        act: the act.
        entry: the item that is really two.
        taken: the values of the second one. What the first one has of them, it loses: terms
            of a list, pieces of the quantity, a caption or date that is the same.

    Returns:
        the new item, and what the person should know.
    """
    if entry.kind is not Kind.ITEM:
        raise ReviewError(f"{name_entry(entry)} is no item; only items can be split.")
    number, remarks = make_room(act, entry)
    left = _without(entry, taken)
    if left:
        act.decide(entry, left)
    values = {"item_type": entry.item_type, **taken}
    made = Entry(
        id=str(uuid.uuid4()),
        kind=Kind.ITEM,
        item=number,
        recorded_at=entry.recorded_at,
        handler=entry.handler,
        notes=entry.notes,
        **{name: getattr(entry, name) for name in _PLACE},
        **values,
    )
    sources: dict[str, Origin] = {
        name: origin for name, origin in entry.sources.items() if name in _PLACE
    }
    return act.make(_reviewed(act, made, sources, ("kind", "item", *values))), remarks


def merge(act: Acting, into: Entry, other: Entry) -> None:
    """Make one entry of two that describe the same thing; the second becomes void.

    What the first lacks it takes from the second; where both have a value, the first one's
    stays and the other is kept as a doubt. Relations to the second become relations to the first.

    Raises:
        ReviewError: they are of different kinds, or two marks are written already.
    """
    if into.id == other.id:
        raise ReviewError("An entry can't be merged with itself.")
    if into.kind is not other.kind or into.kind is Kind.VOLUME:
        raise ReviewError("Only two items, or two entries of leaves, can be merged.")
    if into.mark and other.mark and into.mark != other.mark:
        raise ReviewError(
            f"Two objects carry the marks {into.mark!r} and {other.mark!r}, so they are not one; "
            "void one of the entries, or take back the mark that was never written."
        )
    values, doubts = _united(into, other)
    act.decide(other, {"status": Status.VOID, **({"mark": None} if other.mark else {})})
    act.decide(into, values, adds=doubts)
    for related in act.log.iter_related_to(other.id):
        entry = act.get(related.entry.id)
        if entry.id != into.id and entry.status is not Status.CONFIRMED:
            act.decide(entry, {"relations": _redirect(entry.relations, other.id, into.id)})


def add(act: Acting, reader: Reader, text: str, *, beside: Entry) -> tuple[Entry, ...]:
    """Add what a text says, read as a note would be that was said where another entry is.

    Raises:
        ReviewError: the text names nothing that would become a new entry.
    """
    volume = act.log.find_volume(beside.accession, beside.volume)
    near = [
        one.entry
        for one in act.log.iter_side(beside.accession, beside.volume, beside.leaf, beside.side)
    ]
    if volume is not None:
        near.insert(0, volume.entry)
    logbook = Logbook(reader)
    logbook.begin_at(
        Context(
            accession=beside.accession,
            volume=None if volume is None else volume.entry.id,
            leaf=beside.leaf,
            side=beside.side,
        ),
        near,
    )
    known = {entry.id for entry in near}
    note = Note(number=0, uid=str(uuid.uuid4()), text=text)
    read = [
        entry
        for entry in logbook.take(note)
        if entry.id not in known and entry.status is not Status.VOID
    ]
    if not read:
        raise ReviewError(
            f"{text!r} names nothing new; say what it is, such as 'a ticket, loose' or 'blank'."
        )
    return tuple(act.make(_as_added(act, entry, beside)) for entry in read)


def _as_added(act: Acting, entry: Entry, beside: Entry) -> Entry:
    """Return an entry that was read from typed words as one that a person made."""
    decided = [name for name, origin in entry.sources.items() if origin != FROM_CONTEXT]
    is_same_volume = entry.accession == beside.accession and entry.volume is None
    placed = replace(
        entry,
        notes=(),
        recorded_at=act.at,
        handler=act.author.by,
        volume=beside.volume if is_same_volume else entry.volume,
        volume_name=beside.volume_name if is_same_volume else entry.volume_name,
    )
    carried = {name: origin for name, origin in entry.sources.items() if origin == FROM_CONTEXT}
    item = act.last_item_number(placed) + 1 if entry.kind is Kind.ITEM else None
    if placed.mark is not None:
        placed = replace(placed, mark=act.free_mark(replace(placed, mark=None)))
    return _reviewed(act, replace(placed, item=item), carried, ("kind", *decided))


def _reviewed(
    act: Acting, entry: Entry, sources: Mapping[str, Origin], decided: tuple[str, ...]
) -> Entry:
    review = Review(by=act.author.by, at=act.at, was=None)
    return replace(entry, sources=MappingProxyType({**sources, **dict.fromkeys(decided, review)}))


def _without(entry: Entry, taken: Mapping[str, Any]) -> dict[str, Any]:
    """Return what changes in an entry that gives some of its values away."""
    left: dict[str, Any] = {}
    for name, value in taken.items():
        had = getattr(entry, name)
        if name in _LISTS:
            rest = tuple(one for one in had if one not in value)
            if rest != had and rest:
                left[name] = rest
            elif rest != had and name != "item_type":
                left[name] = ()
        elif name == "quantity":
            left[name] = max(1, had - value)
        elif had is not None and had == value:
            left[name] = None
    if left.get("quantity") == entry.quantity:
        del left["quantity"]
    return left


def _united(into: Entry, other: Entry) -> tuple[dict[str, Any], tuple[Doubt, ...]]:
    """Return what changes in an entry that takes another one in, and what contradicts it."""
    values: dict[str, Any] = {}
    for name in _LISTS:
        both = tuple(dict.fromkeys((*getattr(into, name), *getattr(other, name))))
        if name == "item_type" and into.item_type:
            continue
        if both != getattr(into, name):
            values[name] = both
    doubts = _unite_single(into, other, values)
    for name, joint in _JOINS.items():
        mine, theirs = getattr(into, name), getattr(other, name)
        if theirs and theirs != mine:
            values[name] = f"{mine}{joint}{theirs}" if mine else theirs
    if other.mark and not into.mark:
        values["mark"] = other.mark
    if other.blank and not into.blank:
        values["blank"] = True
    relations = tuple(
        one
        for one in dict.fromkeys((*into.relations, *other.relations))
        if one.id not in {into.id, other.id}
    )
    if relations != into.relations:
        values["relations"] = relations
    notes = tuple(sorted({*into.notes, *other.notes}))
    if notes != into.notes:
        values["notes"] = notes
    return values, doubts


def _unite_single(into: Entry, other: Entry, values: dict[str, Any]) -> tuple[Doubt, ...]:
    """Add the single values that only the second has; return those that contradict the first."""
    doubts: list[Doubt] = []
    for name in _SINGLE:
        mine, theirs = getattr(into, name), getattr(other, name)
        if theirs is None or mine == theirs:
            continue
        if mine is None:
            values[name] = theirs
        else:
            said = ", ".join(map(str, theirs)) if isinstance(theirs, tuple) else theirs
            message = f"the entry merged into this one had {name.replace('_', ' ')} {said}"
            doubts.append(Doubt(message=message, field=name))
    return tuple(doubts)


def _redirect(relations: tuple[Relation, ...], old: str, new: str) -> tuple[Relation, ...]:
    return tuple(dict.fromkeys(replace(one, id=new) if one.id == old else one for one in relations))
