"""How thick a volume is, what interleaving adds to it, and whether its binding bears that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.extraction.measures.sizes import find_thickness_mm
from voicelog.housing.fitting import fits
from voicelog.housing.openings import find_leaves
from voicelog.housing.stock import BindingSlack, Stock
from voicelog.housing.volumes import HousedVolume, is_on_its_page


@dataclass(frozen=True, slots=True, kw_only=True)
class Thickness:
    """The thickness of a volume before interleaving, in millimetres; it may be estimated."""

    mm: float
    is_estimated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Bulk:
    """What interleaving adds, against what the binding bears.

    Attributes:
        added_mm: thickness of all sheets together.
        slack_mm: what the binding bears, or None where the stock table doesn't say.
        remedy: what to look for where it doesn't bear it, or None.
    """

    added_mm: float
    slack_mm: float | None
    remedy: str | None

    @property
    def over_mm(self) -> float:
        """By how much the sheets are too thick for the binding; 0 where they aren't."""
        if self.slack_mm is None or fits(self.added_mm, self.slack_mm):
            return 0.0
        return self.added_mm - self.slack_mm


def find_thickness(volume: HousedVolume, stock: Stock) -> Thickness | None:
    """Return how thick a volume is: as it was said, else estimated, else None.

    The estimate is leaves x thickness of a leaf of its support + 2 covers + pieces still on
    the pages x thickness of a piece (common practice, no published source).
    """
    entry = volume.entry
    if entry is None:
        return None
    if entry.remark is not None and (said := find_thickness_mm(entry.remark)):
        return Thickness(mm=said, is_estimated=False)
    leaf_mm = dict(stock.leaf_thickness_mm).get(entry.support or "")
    leaves = len(find_leaves(volume))
    if leaf_mm is None or leaves == 0:
        return None
    pieces = sum(item.quantity for _, item in volume.items if is_on_its_page(item))
    return Thickness(
        mm=leaves * leaf_mm
        + 2 * stock.rules.cover_thickness_mm
        + pieces * stock.rules.item_thickness_mm,
        is_estimated=True,
    )


def weigh_bulk(
    sheets_mm: Sequence[tuple[int, float]], binding: str | None, slacks: Sequence[BindingSlack]
) -> Bulk:
    """Return what interleaving adds: the sum of sheets x caliper.

    Args:
        sheets_mm: how many sheets of which caliper.
        binding: the term of the volume's binding, or None.
        slacks: what the kinds of binding bear.
    """
    slack = next((each for each in slacks if each.binding == binding), None)
    return Bulk(
        added_mm=sum(count * caliper_mm for count, caliper_mm in sheets_mm),
        slack_mm=None if slack is None else slack.slack_mm,
        remedy=None if slack is None else slack.remedy,
    )
