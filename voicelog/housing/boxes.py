"""The box nearest in size that takes a volume and, beside it, the folders.

Scrapbooks lie flat and are turned by 90 degrees at most; loose folders lie beside the
volume, never on it and never under it, so that nothing presses on anything (common
practice, no published source). Nearest in size means that the least is left empty; equal
ones are told apart by their floor and then by their name. Every box, both ways to turn the
volume, both ways to turn the folders and both places beside the volume are tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from voicelog.housing.fitting import fits
from voicelog.housing.stock import Box


class Load(NamedTuple):
    """A flat thing: its height and width as it would be read, and its thickness, in mm."""

    height_mm: float
    width_mm: float
    thickness_mm: float

    @property
    def volume_mm3(self) -> float:
        """The room it takes."""
        return self.height_mm * self.width_mm * self.thickness_mm


class Spot(NamedTuple):
    """Where a thing lies on the floor of a box, from the corner, in mm."""

    left_mm: float
    top_mm: float
    length_mm: float
    width_mm: float
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxChoice:
    """A box and how things lie in it.

    Attributes:
        box: the box.
        spots: where each thing lies, in the order in which they were given.
        void_mm3: what is left empty.
    """

    box: Box
    spots: tuple[Spot, ...]
    void_mm3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoBox:
    """No box takes the things.

    Attributes:
        nearest: the box that comes nearest, or None where the stock lists no box.
        lacks_mm: by how much that box is too small in length, width and depth; 0 where it
            is large enough.
    """

    nearest: Box | None
    lacks_mm: tuple[float, float, float]

    @property
    def reason(self) -> str:
        """Why, and by how much, in plain words."""
        if self.nearest is None:
            return "the stock lists no boxes"
        parts = [
            f"{lacks:.1f} mm in {name}"
            for name, lacks in zip(("length", "width", "depth"), self.lacks_mm, strict=True)
            if lacks > 0
        ]
        return f"no box in stock is large enough; {self.nearest.name} lacks {' and '.join(parts)}"


class _Arrangement(NamedTuple):
    length_mm: float
    width_mm: float
    depth_mm: float
    spots: tuple[Spot, ...]


def choose_box(
    loads: Sequence[Load], boxes: Sequence[Box], *, clearance_mm: float
) -> BoxChoice | NoBox:
    """Return the box nearest in size that takes one thing, or two beside each other.

    Args:
        loads: one or two things: the volume, or the volume and a stack of folders.
        boxes: what there is.
        clearance_mm: room to leave on every side of each thing, and above it.
    """
    arrangements = list(_arrange(loads, clearance_mm))
    filled_mm3 = sum(load.volume_mm3 for load in loads)
    fitting = [
        BoxChoice(box=box, spots=each.spots, void_mm3=box.volume_mm3 - filled_mm3)
        for box in boxes
        for each in arrangements
        if fits(each.length_mm, box.length_mm)
        and fits(each.width_mm, box.width_mm)
        and fits(each.depth_mm, box.depth_mm)
    ]
    if fitting:
        return min(
            fitting,
            key=lambda choice: (
                round(choice.void_mm3, 3),
                choice.box.length_mm * choice.box.width_mm,
                choice.box.name,
            ),
        )
    return _find_nearest(arrangements, boxes)


def _arrange(loads: Sequence[Load], clearance_mm: float) -> Iterator[_Arrangement]:
    """Yield every way to lay one or two things on the floor of a box."""
    depth_mm = max(load.thickness_mm for load in loads) + clearance_mm
    first, *others = loads
    for length, width, turned in _turns(first):
        corner = Spot(clearance_mm, clearance_mm, length, width, turned)
        if not others:
            yield _Arrangement(
                length + 2 * clearance_mm, width + 2 * clearance_mm, depth_mm, (corner,)
            )
        for other_length, other_width, other_turned in (
            turn for other in others for turn in _turns(other)
        ):
            beyond = Spot(
                2 * clearance_mm + length, clearance_mm, other_length, other_width, other_turned
            )
            yield _Arrangement(
                length + other_length + 3 * clearance_mm,
                max(width, other_width) + 2 * clearance_mm,
                depth_mm,
                (corner, beyond),
            )
            before = Spot(
                clearance_mm, 2 * clearance_mm + width, other_length, other_width, other_turned
            )
            yield _Arrangement(
                max(length, other_length) + 2 * clearance_mm,
                width + other_width + 3 * clearance_mm,
                depth_mm,
                (corner, before),
            )


def _turns(load: Load) -> Iterator[tuple[float, float, bool]]:
    yield load.width_mm, load.height_mm, False
    yield load.height_mm, load.width_mm, True


def _find_nearest(arrangements: Sequence[_Arrangement], boxes: Sequence[Box]) -> NoBox:
    misses = [
        (
            box,
            (
                max(0.0, each.length_mm - box.length_mm),
                max(0.0, each.width_mm - box.width_mm),
                max(0.0, each.depth_mm - box.depth_mm),
            ),
        )
        for box in boxes
        for each in arrangements
    ]
    if not misses:
        return NoBox(nearest=None, lacks_mm=(0.0, 0.0, 0.0))
    nearest, lacks = min(misses, key=lambda miss: (max(miss[1]), sum(miss[1]), miss[0].name))
    return NoBox(nearest=nearest, lacks_mm=lacks)
