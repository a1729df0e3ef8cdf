"""A log as its volumes: which entries describe which volume."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from voicelog.domain.entry import Entry, Kind, Status
from voicelog.domain.place import Place, place_order


class VolumeKey(NamedTuple):
    """What tells one volume of a log from another.

    Attributes:
        accession: the accession number, or None where none was said.
        volume: the volume's number, else the donor's name, or None where neither was said.
    """

    accession: str | None
    volume: str | None


def key_of(entry: Entry) -> VolumeKey:
    """Return the key of the volume that an entry belongs to."""
    return VolumeKey(entry.accession, entry.volume or entry.volume_name)


@dataclass(frozen=True, kw_only=True)
class VolumeLog:
    """The live entries of one volume, in display order; void ones are left out.

    Attributes:
        key: which volume it is.
        entries: all its entries.
    """

    key: VolumeKey
    entries: tuple[Entry, ...]

    @cached_property
    def entry(self) -> Entry | None:
        """The entry of the volume itself, or None where nothing was said of it."""
        return next((one for one in self.entries if one.kind is Kind.VOLUME), None)

    @cached_property
    def items(self) -> tuple[Entry, ...]:
        """The entries of its items."""
        return tuple(one for one in self.entries if one.kind is Kind.ITEM)

    @property
    def name(self) -> str:
        """The volume as a sentence names it: "volume 1, the green book".

        >>> from voicelog.domain.entry import Kind
        >>> entry = Entry(id="v", kind=Kind.VOLUME, volume="1", volume_name="the green book")
        >>> VolumeLog(key=key_of(entry), entries=(entry,)).name
        'volume 1, the green book'
        """
        first = self.entries[0]
        if first.volume and first.volume.isdecimal():
            named = f", {first.volume_name}" if first.volume_name else ""
            return f"volume {first.volume}{named}"
        return first.volume_name or first.volume or "the volume"

    def at(self, place: Place) -> Iterator[Entry]:
        """Yield the entries of one side; a leaf entry for both sides counts for either."""
        for entry in self._at_leaf.get(place.leaf, ()):
            if entry.side is place.side or entry.side is None or place.side is None:
                yield entry

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """Every place that an entry names, in the order of the volume."""
        named = {Place(leaf=one.leaf, side=one.side) for one in self.entries if one.leaf}
        return tuple(sorted(named, key=lambda place: place_order(place.leaf, place.side)))

    @cached_property
    def _at_leaf(self) -> dict[str, list[Entry]]:
        found: dict[str, list[Entry]] = {}
        for entry in self.entries:
            if entry.leaf is not None:
                found.setdefault(entry.leaf, []).append(entry)
        return found


def group_volumes(entries: Iterable[Entry]) -> tuple[VolumeLog, ...]:
    """Return the volumes of a log, in the order in which the log first names them."""
    grouped: dict[VolumeKey, list[Entry]] = {}
    for entry in entries:
        if entry.status is not Status.VOID:
            grouped.setdefault(key_of(entry), []).append(entry)
    return tuple(VolumeLog(key=key, entries=tuple(of_it)) for key, of_it in grouped.items())


def describe_place(place: Place) -> str:
    """Return a place as it would be said.

    >>> from voicelog.domain.entry import Side
    >>> describe_place(Place(leaf="14", side=Side.RECTO)), describe_place(Place(leaf="spine"))
    ('leaf 14 recto', 'spine')
    >>> describe_place(Place(leaf="between 8 and 9"))
    'between leaves 8 and 9'
    """
    if place.is_insert:
        return place.leaf.replace("between ", "between leaves ")
    leaf = f"leaf {place.leaf}" if place.leaf[:1].isdecimal() else place.leaf
    return f"{leaf} {place.side}" if place.side else leaf
