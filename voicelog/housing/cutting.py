"""How interleaving sheets are cut from stock sheets, with the least waste.

A trimmer cuts from edge to edge, so a sheet is divided into two by every cut (a guillotine
pattern). :func:`cut_pieces` tries every first cut at a distance from one edge that some row
of pieces fills exactly, in both directions, and goes on with both parts. No other cut can
give more: pieces can be pushed towards the edge until they touch, and what is cut beyond
the middle can be mirrored. Where a sheet could give more than 400 pieces (cards from a
roll, never leaves from a sheet) only plain rows and columns are compared, which is quick
and may fall a few pieces short.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from voicelog.housing.fitting import HAIR_MM, fits
from voicelog.housing.stock import Sheet

_MOST_PIECES = 400


class Cut(NamedTuple):
    """One piece on a sheet: its corner and its sides along the sheet's length and width."""

    left_mm: float
    top_mm: float
    along_mm: float
    across_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingPlan:
    """What to cut and from what.

    Attributes:
        sheet: the stock sheet.
        piece_mm: height and width of one piece.
        pieces: how many are needed.
        per_sheet: where each piece lies on one stock sheet.
        sheets: how many stock sheets that takes.
    """

    sheet: Sheet
    piece_mm: tuple[float, float]
    pieces: int
    per_sheet: tuple[Cut, ...]
    sheets: int

    @property
    def waste_mm2(self) -> float:
        """What is left over of all the sheets."""
        height, width = self.piece_mm
        return self.sheets * self.sheet.area_mm2 - self.pieces * height * width

    @property
    def waste_share(self) -> float:
        """What is left over, as a part of what is taken."""
        return self.waste_mm2 / (self.sheets * self.sheet.area_mm2)


def cut_pieces(sheet: Sheet, height_mm: float, width_mm: float) -> tuple[Cut, ...]:
    """Return the most pieces that one sheet gives, and where they lie.

    Where the sheet's grain is known it runs along the height of each piece, the way the
    leaves are bound (common practice, no published source).

    Args:
        sheet: the stock sheet.
        height_mm: height of a piece, along the spine.
        width_mm: its width.
    """
    ways = [(height_mm, width_mm), (width_mm, height_mm)]
    if sheet.grain == "long":
        ways = ways[:1]
    elif sheet.grain == "short":
        ways = ways[1:]
    if sheet.area_mm2 > _MOST_PIECES * height_mm * width_mm:
        return max((_cut_grid(sheet, *way) for way in ways), key=len)
    return _Cutter(ways).lay_out(sheet.length_mm, sheet.width_mm)


def _cut_grid(sheet: Sheet, along: float, across: float) -> tuple[Cut, ...]:
    columns = int((sheet.length_mm + HAIR_MM) // along)
    rows = int((sheet.width_mm + HAIR_MM) // across)
    return tuple(
        Cut(column * along, row * across, along, across)
        for column in range(columns)
        for row in range(rows)
    )


class _Cutter:
    """Cuts areas of any size into pieces of one size; remembers the areas it has counted.

    Args:
        ways: the sides of a piece along the length and across it, one pair for each turn.
    """

    def __init__(self, ways: Sequence[tuple[float, float]]) -> None:
        self._ways = ways
        self._counted: dict[tuple[float, float], int] = {}

    def count(self, length: float, width: float) -> int:
        """Return how many pieces an area gives at most."""
        most = self._counted.get((length, width))
        if most is None:
            most = 1 if self._place_one(length, width) else 0
            if most:
                divisions = self._divide(length, width)
                most = max(
                    [most, *(self.count(*one) + self.count(*two) for one, two, _ in divisions)]
                )
            self._counted[length, width] = most
        return most

    def lay_out(self, length: float, width: float) -> tuple[Cut, ...]:
        """Return where the pieces of an area lie."""
        most = self.count(length, width)
        for one, two, corner in self._divide(length, width) if most else ():
            if self.count(*one) + self.count(*two) == most:
                beyond = [
                    cut._replace(left_mm=cut.left_mm + corner[0], top_mm=cut.top_mm + corner[1])
                    for cut in self.lay_out(*two)
                ]
                return (*self.lay_out(*one), *beyond)
        return self._place_one(length, width)

    def _place_one(self, length: float, width: float) -> tuple[Cut, ...]:
        return tuple(
            Cut(0, 0, along, across)
            for along, across in self._ways
            if fits(along, length) and fits(across, width)
        )[:1]

    def _divide(
        self, length: float, width: float
    ) -> Iterator[tuple[tuple[float, float], tuple[float, float], tuple[float, float]]]:
        """Yield every cut through an area: its two parts, and the corner of the second."""
        for at in self._lines(length, 0):
            yield (at, width), (_rest(length, at), width), (at, 0)
        for at in self._lines(width, 1):
            yield (length, at), (length, _rest(width, at)), (0, at)

    def _lines(self, side: float, axis: int) -> list[float]:
        """Return the distances from an edge that a row of pieces fills, up to the middle."""
        found: set[float] = set()
        grown = {0.0}
        while grown:
            sums = {round(line + way[axis], 4) for line in grown for way in self._ways}
            grown = {line for line in sums if fits(line, side / 2)} - found
            found |= grown
        return sorted(found)


def plan_cutting(
    pieces: int, piece_mm: tuple[float, float], sheets: Sequence[Sheet], *, buffered: bool
) -> CuttingPlan | None:
    """Return the plan that wastes the least paper, or None where no sheet is large enough.

    Of equal ones that with fewer sheets is taken, then by the sheet's name.
    """
    height_mm, width_mm = piece_mm
    plans = []
    for sheet in sheets:
        if sheet.buffered is not buffered:
            continue
        if cuts := cut_pieces(sheet, height_mm, width_mm):
            plans.append(
                CuttingPlan(
                    sheet=sheet,
                    piece_mm=piece_mm,
                    pieces=pieces,
                    per_sheet=cuts,
                    sheets=ceil(pieces / len(cuts)),
                )
            )
    return min(
        plans,
        key=lambda plan: (round(plan.waste_mm2, 1), plan.sheets, plan.sheet.name),
        default=None,
    )


def find_largest_lack(
    piece_mm: tuple[float, float], sheets: Sequence[Sheet], *, buffered: bool
) -> tuple[Sheet, float] | None:
    """Return the sheet that comes nearest to giving one piece, and by how many mm it fails."""
    long, short = max(piece_mm), min(piece_mm)
    lacks = [
        (max(long - sheet.length_mm, short - sheet.width_mm), sheet)
        for sheet in sheets
        if sheet.buffered is buffered
    ]
    if not lacks:
        return None
    lack_mm, sheet = min(lacks, key=lambda each: (each[0], each[1].name))
    return sheet, lack_mm


def _rest(side_mm: float, at_mm: float) -> float:
    rest = round(side_mm - at_mm, 4)
    return rest if rest > HAIR_MM else 0.0
