"""The entries of a selection gathered into volumes, leaves and items, in their order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from voicelog.domain.entry import Entry, Kind, Side
from voicelog.domain.place import place_order
from voicelog.exports.dates import read_date
from voicelog.store.selection import VolumeKey

MISSING = "missing item"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeafPart:
    """One side of a leaf, or a cover or insert: what is said of it, and the items on it.

    Attributes:
        leaf: its label, or None for items whose place was never said.
        side: recto, verso, or None.
        entry: the leaf entry, where there is one in the selection.
        items: the item entries, in their order.
    """

    leaf: str | None
    side: Side | None
    entry: Entry | None
    items: tuple[Entry, ...]

    @property
    def name(self) -> str:
        """The place in words: "leaf 14 recto", "front cover"."""
        return describe_place(self.leaf, self.side)


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumePart:
    """One volume: what is said of it, and its leaves.

    Attributes:
        key: its accession number and label.
        name: the donor's name for it, or None.
        entry: the volume entry, where there is one in the selection.
        leaves: its leaves and covers, in the order of the volume.
    """

    key: VolumeKey
    name: str | None
    entry: Entry | None
    leaves: tuple[LeafPart, ...]

    def entries(self) -> Iterator[Entry]:
        """Yield all its entries in their order."""
        if self.entry:
            yield self.entry
        for leaf in self.leaves:
            if leaf.entry:
                yield leaf.entry
            yield from leaf.items

    def items(self) -> Iterator[Entry]:
        """Yield its item entries in their order."""
        for leaf in self.leaves:
            yield from leaf.items

    def years(self) -> tuple[str, str] | None:
        """Return the first and last year that its entries can be from, where any says so."""
        spans = [
            span for each in self.entries() if each.date and (span := read_date(each.date).years)
        ]
        return (min(first for first, _ in spans), max(last for _, last in spans)) if spans else None


def iter_volumes(entries: Iterable[tuple[int, Entry]]) -> Iterator[VolumePart]:
    """Yield the volumes of entries that stand in display order, one in memory at a time."""
    pairs = ((VolumeKey(accession=one.accession, volume=one.volume), one) for _, one in entries)
    for key, group in groupby(pairs, key=lambda pair: pair[0]):
        yield _make_volume(key, [entry for _, entry in group])


def count_pieces(items: Iterable[Entry]) -> Counter[str]:
    """Return how many pieces of each type of item are there, quantities added up.

    Items of which only the place is left are not there.
    """
    counts: Counter[str] = Counter()
    for item in items:
        if MISSING not in item.condition:
            for term in item.item_type or ("item",):
                counts[term] += item.quantity
    return counts


def describe_place(leaf: str | None, side: Side | None) -> str:
    """Return a place in words.

    >>> describe_place("14", Side.RECTO), describe_place("front cover", None)
    ('leaf 14 recto', 'front cover')
    """
    if leaf is None:
        return "place not recorded"
    named = leaf if not leaf[:1].isdecimal() else f"leaf {leaf}"
    return f"{named} {side}" if side else named


def describe_item(entry: Entry) -> str:
    """Return an entry's place in its volume in words: "leaf 14 recto, item 2"."""
    place = describe_place(entry.leaf, entry.side)
    return f"{place}, item {entry.item}" if entry.item is not None else place


def _make_volume(key: VolumeKey, entries: list[Entry]) -> VolumePart:
    own = next((entry for entry in entries if entry.kind is Kind.VOLUME), None)
    parts: dict[tuple[str | None, Side | None], list[Entry]] = {}
    for entry in entries:
        if entry is not own:
            parts.setdefault((entry.leaf, entry.side), []).append(entry)
    return VolumePart(
        key=key,
        name=next((entry.volume_name for entry in entries if entry.volume_name), None),
        entry=own,
        leaves=tuple(
            _make_leaf(leaf, side, parts[leaf, side])
            for leaf, side in sorted(parts, key=lambda place: place_order(*place))
        ),
    )


def _make_leaf(leaf: str | None, side: Side | None, entries: list[Entry]) -> LeafPart:
    own = next((entry for entry in entries if entry.kind is not Kind.ITEM), None)
    return LeafPart(
        leaf=leaf,
        side=side,
        entry=own,
        items=tuple(entry for entry in entries if entry is not own),
    )
