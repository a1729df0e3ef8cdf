"""A small picture of a volume: one cell for each side."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Adhesion, Entry, Kind, Status
from voicelog.domain.place import Place
from voicelog.exports.sides import list_sides


class SideState(StrEnum):
    """What is known of a side, the least settled of its entries deciding."""

    UNSEEN = "nothing logged"
    BLANK = "blank"
    DOUBTFUL = "doubtful"
    HEARD = "heard"
    CONFIRMED = "confirmed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One side.

    Attributes:
        place: the side.
        state: what is known of it.
        items: how many items are logged there.
        has_loose: whether one of them is loose, was taken out, or is gone.
    """

    place: Place
    state: SideState
    items: int
    has_loose: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LeafMap:
    """The sides of a volume in order.

    Attributes:
        title: the volume.
        cells: its sides, covers included.
    """

    title: str
    cells: tuple[Cell, ...]

    def count(self, state: SideState) -> int:
        """Return how many sides are in a state."""
        return sum(cell.state is state for cell in self.cells)


def make_leaf_map(volume: VolumeLog, *, same: dict[Cell, Cell]) -> LeafMap:
    """Return the map of a volume.

    Args:
        volume: the volume.
        same: cells of other maps; equal ones are shared, since the sides of many volumes are
            few different ones.
    """
    cells = (_make_cell(volume, place) for place in list_sides(volume))
    return LeafMap(
        title=volume.name[:1].upper() + volume.name[1:],
        cells=tuple(same.setdefault(cell, cell) for cell in cells),
    )


def is_off(entry: Entry) -> bool:
    """Whether an item no longer holds where it was: loose, taken out, or gone."""
    return (
        entry.adhesion is Adhesion.LOOSE
        or entry.enclosure is not None
        or bool({"detached", "enclosed"} & set(entry.action))
        or "missing item" in entry.condition
    )


def _make_cell(volume: VolumeLog, place: Place) -> Cell:
    here = tuple(volume.at(place))
    items = [entry for entry in here if entry.kind is Kind.ITEM]
    return Cell(
        place=place,
        state=_state_of(here),
        items=len(items),
        has_loose=any(is_off(entry) for entry in items),
    )


def _state_of(entries: tuple[Entry, ...]) -> SideState:
    if not entries:
        return SideState.UNSEEN
    if any(entry.status is Status.QUERIED or entry.doubts for entry in entries):
        return SideState.DOUBTFUL
    if all(entry.blank for entry in entries):
        return SideState.BLANK
    if all(entry.status is Status.CONFIRMED for entry in entries):
        return SideState.CONFIRMED
    return SideState.HEARD
