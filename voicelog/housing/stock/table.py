"""What lies on the shelf of supplies: boxes, envelopes, folders, sheets, filling.

All sizes are in millimetres; of boxes, envelopes and folders the inside counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class StockItem:
    """One kind of thing that can be taken from the shelf.

    Attributes:
        name: what the repository calls it; no two things have the same name.
        weight_g: weight of one piece, in grams.
        price: price of one piece in the stock's currency, or None where it isn't kept.
        on_hand: how many pieces there are, or None where nobody counts them.
        source: the standard that its size comes from, or where else it comes from.
    """

    name: str
    weight_g: float
    price: Decimal | None = None
    on_hand: int | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box(StockItem):
    """A box; its length is its longer side, its depth what a flat volume needs of thickness."""

    length_mm: float
    width_mm: float
    depth_mm: float

    @property
    def volume_mm3(self) -> float:
        """What it holds."""
        return self.length_mm * self.width_mm * self.depth_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope(StockItem):
    """An envelope; ``caliper_mm`` is the thickness of its paper, of which it has two layers."""

    height_mm: float
    width_mm: float
    caliper_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Folder(StockItem):
    """A folder for envelopes that lie flat.

    Attributes:
        caliper_mm: the thickness of its board, of which it has two layers.
        capacity_mm: how thick its contents may be.
    """

    height_mm: float
    width_mm: float
    caliper_mm: float
    capacity_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet(StockItem):
    """Paper that interleaving is cut from.

    Attributes:
        grain: the side that the grain runs along, ``long`` or ``short``, or None where that
            isn't known or doesn't matter.
        buffered: whether it holds an alkaline reserve.
    """

    length_mm: float
    width_mm: float
    caliper_mm: float
    buffered: bool
    grain: str | None = None

    @property
    def area_mm2(self) -> float:
        """Its area."""
        return self.length_mm * self.width_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling(StockItem):
    """Buffer paper, one sheet of which, crumpled, fills ``fills_litres`` of a gap."""

    fills_litres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BindingSlack:
    """How much thicker the contents of a binding may become, and what helps beyond that."""

    binding: str
    slack_mm: float
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """The repository's own measures of care; see the default stock for each meaning."""

    envelope_margin_mm: float
    box_clearance_mm: float
    interleaf_inset_mm: float
    cover_thickness_mm: float
    item_thickness_mm: float
    volume_density_g_per_cm3: float
    heavy_from_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Everything that housing can be chosen from, and the measures it is chosen by.

    Attributes:
        bindings: the slack of each kind of binding.
        leaf_thickness_mm: the thickness of one leaf, by the term of its support.
        currency: of the prices, as it is written after them.
    """

    boxes: tuple[Box, ...]
    envelopes: tuple[Envelope, ...]
    folders: tuple[Folder, ...]
    sheets: tuple[Sheet, ...]
    fillings: tuple[Filling, ...]
    bindings: tuple[BindingSlack, ...]
    leaf_thickness_mm: tuple[tuple[str, float], ...]
    rules: Rules
    currency: str

    def items(self) -> Iterator[StockItem]:
        """Yield every kind of thing there is, in the order of the table."""
        yield from self.boxes
        yield from self.envelopes
        yield from self.folders
        yield from self.sheets
        yield from self.fillings
