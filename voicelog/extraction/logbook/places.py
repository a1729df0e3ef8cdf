"""Moving through the volume, and places said to be blank."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voicelog.domain.entry import Entry, Kind, Side
from voicelog.domain.place import (
    Place,
    facing_page,
    next_leaf,
    next_page,
    previous_leaf,
    previous_page,
)
from voicelog.domain.statement import GoTo, SayBlank, Step, Subject, TakeStep, Target

if TYPE_CHECKING:
    from voicelog.domain.note import Span
    from voicelog.extraction.logbook.application import Application

LONGEST_JUMP = 20
"""More leaves than this in one move forward are likelier misheard than skipped."""


def go_to(work: Application, said: GoTo) -> None:
    """Move to a place named outright, or put the latest entry there."""
    here = work.context
    if said.leaf is None:
        place = Place(leaf=here.leaf or "1", side=said.side)
        doubts = said.doubts
        if here.leaf is None:
            doubts = (*doubts, "a side was named before any leaf; taken as leaf 1")
    else:
        place = Place(leaf=said.leaf, side=said.side)
        doubts = (*said.doubts, *_unlikely(work, place))
    if said.corrects:
        latest = work.register.find(here.latest)
        if latest is not None and latest.kind is not Kind.VOLUME:
            if not said.side_said and place.has_sides:
                place = replace(place, side=latest.side or Side.RECTO)
            _move_entry(work, latest, place, said.spans, doubts)
            return
    _arrive(work, place, doubts)


def take_step(work: Application, said: TakeStep) -> None:
    """Move relative to the present place."""
    here = work.context.place
    doubts = said.doubts
    match said.step:
        case Step.NEXT_LEAF:
            place = next_leaf(here)
        case Step.NEXT_PAGE | Step.TURN_OVER:
            place = next_page(here)
        case Step.PREVIOUS_LEAF:
            place = previous_leaf(here)
        case Step.PREVIOUS_PAGE:
            place = previous_page(here)
        case _:
            facing = facing_page(here) if here is not None else None
            place = facing or here or Place(leaf="1", side=Side.RECTO)
            if facing is None:
                doubts = (*doubts, "there is no page facing this place")
    _arrive(work, place, doubts)


def say_blank(work: Application, said: SayBlank) -> None:
    """Make an entry for each place said to be blank."""
    here = work.context
    if said.places:
        for leaf, side in said.places:
            _arrive(work, Place(leaf=leaf, side=side or Side.RECTO), ())
            _blank(work, leaf, side, said.spans)
        return
    if here.leaf is None:
        (entry,) = work.targets(Target(subject=Subject.VOLUME))
        work.doubt(work.change(entry, said.spans, blank=True), ("no leaf was named",), "leaf")
        return
    _blank(work, here.leaf, None if said.both_sides else here.side, said.spans)


def _blank(work: Application, leaf: str, side: Side | None, spans: tuple[Span, ...]) -> None:
    entry = work.leaf_entry(leaf, side)
    entry = work.change(entry, spans, blank=True)
    accession, volume, _, _ = work.side_key()
    sides = (side,) if side is not None else (None, Side.RECTO, Side.VERSO)
    if any(work.register.items_of((accession, volume, leaf, one)) for one in sides):
        work.doubt(entry, ("it is said to be blank, but an item is logged here",), "blank")


def _arrive(work: Application, place: Place, doubts: tuple[str, ...]) -> None:
    work.context = replace(
        work.context,
        leaf=place.leaf,
        side=place.side,
        latest=None,
        place_doubts=doubts,
    )
    work.opened.clear()


def _move_entry(
    work: Application, entry: Entry, place: Place, spans: tuple[Span, ...], doubts: tuple[str, ...]
) -> None:
    """Put an entry in another place; an item goes to the end of the side it comes to."""
    entry = work.clear_doubts(entry, "leaf")
    work.context = replace(work.context, leaf=place.leaf, side=place.side, place_doubts=())
    item = entry.item
    if entry.kind is Kind.ITEM and (entry.leaf, entry.side) != (place.leaf, place.side):
        item = work.register.last_item_number(work.side_key()) + 1
    changed = work.change(entry, spans, leaf=place.leaf, side=place.side, item=item)
    work.doubt(changed, doubts, "leaf")


def _unlikely(work: Application, place: Place) -> tuple[str, ...]:
    """Return doubts about a jump that is probably misheard."""
    number = place.number
    if number is None:
        return ()
    volume = work.register.find(work.context.volume)
    if volume is not None and volume.leaves is not None and number > volume.leaves:
        return (f"leaf {number} is beyond the {volume.leaves} leaves of the volume",)
    here = work.context.place
    if here is not None and here.number is not None and number - here.number > LONGEST_JUMP:
        return (f"a jump from leaf {here.number} to leaf {number}",)
    return ()
