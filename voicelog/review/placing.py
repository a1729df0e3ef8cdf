"""Where entries are: moving them, and their order on a side.

Marks are facts about objects, so none of these acts changes one that was given out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from voicelog.domain.entry import Entry, Kind, Status
from voicelog.domain.place import Place
from voicelog.errors import EntryLocked, ReviewError
from voicelog.review.acting import Acting, name_entry

_PLACE = ("accession", "volume", "leaf", "side")


def move(act: Acting, entry: Entry, place: Place) -> Entry:
    """Put an entry on another leaf or side; an item comes last there.

    Raises:
        ReviewError: it is a volume, is there already, or the place has its entry already.
    """
    if entry.kind is Kind.VOLUME:
        raise ReviewError("A volume is not on a leaf; change its accession or volume instead.")
    if (entry.leaf, entry.side) == (place.leaf, place.side):
        raise ReviewError(f"{name_entry(entry)} is there already.")
    if entry.kind is Kind.LEAF:
        for other in act.log.iter_side(entry.accession, entry.volume, place.leaf, place.side):
            if other.entry.kind is Kind.LEAF:
                raise ReviewError(
                    f"There is an entry for {place.leaf} already; merge the two instead."
                )
        return act.decide(entry, {"leaf": place.leaf, "side": place.side})
    last = act.log.last_item_number(entry.accession, entry.volume, place.leaf, place.side)
    return act.decide(entry, {"leaf": place.leaf, "side": place.side, "item": last + 1})


def rename_place(act: Acting, entries: Iterable[Entry], field: str, value: Any) -> None:
    """Give entries another accession, volume or leaf together; items keep their order.

    Where the place they come to has items with their numbers, they come after those.
    """
    moved = list(entries)
    ids = {entry.id for entry in moved}
    behind: dict[tuple[Any, ...], int] = {}
    for entry in moved:
        values: dict[str, Any] = {field: value}
        if field == "volume":
            named = act.log.find_volume(entry.accession, value)
            if named is not None and named.entry.id not in ids:
                values["volume_name"] = named.entry.volume_name
        if field in _PLACE and entry.kind is Kind.ITEM and getattr(entry, field) != value:
            place = {name: getattr(entry, name) for name in _PLACE} | {field: value}
            key = tuple(place.values())
            if key not in behind:
                there = [
                    one.entry.item or 0
                    for one in act.log.iter_side(
                        place["accession"], place["volume"], place["leaf"], place["side"]
                    )
                    if one.entry.kind is Kind.ITEM and one.entry.id not in ids
                ]
                behind[key] = max(there, default=0)
            if behind[key]:
                behind[key] += 1
                values["item"] = behind[key]
        act.decide(entry, values)


def reorder(act: Acting, wanted: Sequence[Entry]) -> None:
    """Number the items of a side anew, from 1, in the order given.

    Raises:
        ReviewError: these are not exactly the items of one side.
        EntryLocked: a confirmed one would get another number.
    """
    if not wanted:
        raise ReviewError("Name the items of a side in the order that they should have.")
    there = {entry.id for entry in act.side(wanted[0])}
    if {entry.id for entry in wanted} != there or len(wanted) != len(there):
        raise ReviewError(
            "To reorder a side, name each of its items once; the side has changed, or an item "
            "is missing. Load the page again."
        )
    for number, entry in enumerate(wanted, start=1):
        if entry.item == number:
            continue
        require_movable(entry)
        act.decide(entry, {"item": number})


def make_room(act: Acting, behind: Entry) -> tuple[int, tuple[str, ...]]:
    """Return the number for a new item right behind another, the rest moved on by one.

    Returns:
        the number, and what the person should know: where confirmed items stand behind it,
        they keep their numbers and the new one comes last.
    """
    rest = [one for one in act.side(behind) if (one.item or 0) > (behind.item or 0)]
    if any(one.status is Status.CONFIRMED for one in rest):
        number = act.last_item_number(behind) + 1
        return number, ("Confirmed items keep their numbers, so the new one comes last.",)
    for one in reversed(rest):
        act.decide(one, {"item": (one.item or 0) + 1})
    return (behind.item or 0) + 1, ()


def require_movable(entry: Entry) -> None:
    """Make sure that an entry's number may change.

    Raises:
        EntryLocked: it is confirmed.
    """
    if entry.status is Status.CONFIRMED:
        raise EntryLocked(
            f"{name_entry(entry)} is confirmed and would get another number; open it again first.",
            entry=entry.id,
        )
