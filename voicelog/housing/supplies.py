"""What has to be taken from the shelf for any set of volumes, what it costs, what is short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from voicelog.housing.stock import Stock, StockItem


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """So many pieces of one thing from stock."""

    item: StockItem
    needed: int

    @property
    def cost(self) -> Decimal | None:
        """What they cost together, or None where the price isn't kept."""
        return None if self.item.price is None else self.item.price * self.needed

    @property
    def short(self) -> int:
        """How many are missing on the shelf; 0 where nobody counts them."""
        return 0 if self.item.on_hand is None else max(0, self.needed - self.item.on_hand)


def list_supplies(needs: Iterable[Mapping[str, int]], stock: Stock) -> tuple[Supply, ...]:
    """Return the sum of these needs, in the order of the stock table.

    Args:
        needs: for every volume, how many pieces of which thing, by name.
        stock: the table that the names stand in.
    """
    total: Counter[str] = Counter()
    for need in needs:
        total.update(need)
    return tuple(
        Supply(item=item, needed=total[item.name]) for item in stock.items() if total[item.name]
    )


def add_costs(supplies: Iterable[Supply]) -> tuple[Decimal, int]:
    """Return what all of it costs, and how many kinds of thing have no price."""
    costs = [supply.cost for supply in supplies]
    known = [cost for cost in costs if cost is not None]
    return sum(known, Decimal(0)), len(costs) - len(known)
