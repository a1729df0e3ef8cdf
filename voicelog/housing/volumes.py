"""The entries of a log, volume by volume, and where each item is now."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby

from voicelog.checks.volumes import VolumeKey, key_of
from voicelog.domain.entry import Access, Adhesion, Entry, Kind, Status
from voicelog.domain.place import Place

Numbered = tuple[int, Entry]
"""Display number and entry, as a log yields them."""

_NUMBERED_ENCLOSURE = re.compile(r"(.+) (\d+)([A-Z]?)")


class Whereabouts(StrEnum):
    """Where an item is, now that the volume has been gone through."""

    IN_PLACE = "in place"
    FOUND_LOOSE = "found loose, left where it lay"
    ENCLOSED = "removed"
    SET_ASIDE = "set aside"
    NOT_ENCLOSED = "loose, without an enclosure yet"
    MISSING = "missing already"


@dataclass(frozen=True, slots=True, kw_only=True)
class HousedVolume:
    """What the log says of one volume, with display numbers, ready for housing.

    Attributes:
        accession: its accession number, or None.
        volume: its number, or the donor's name where it has none, or None.
        name: the donor's name for it, or None.
        own: the entry that describes the volume itself with its number, or None.
        rows: all other entries, in display order.
    """

    accession: str | None
    volume: str | None
    name: str | None
    own: Numbered | None
    rows: tuple[Numbered, ...]

    @property
    def entry(self) -> Entry | None:
        """The entry that describes the volume itself, or None."""
        return self.own[1] if self.own is not None else None

    @property
    def key(self) -> VolumeKey:
        """Which volume it is."""
        return VolumeKey(self.accession, self.volume or self.name)

    @property
    def title(self) -> str:
        """The volume as a heading names it."""
        if self.volume and self.volume != self.name and _without_article(self.name) != self.volume:
            named = f"volume {self.volume}"
            return f"{named}, {self.name}" if self.name else named
        return self.name or self.volume or "the volume without a name"

    def without_entries(self) -> HousedVolume:
        """Return the volume with its names only, for a list of many volumes."""
        return replace(self, own=None, rows=())

    @property
    def items(self) -> tuple[Numbered, ...]:
        """The entries that describe items."""
        return tuple(row for row in self.rows if row[1].kind is Kind.ITEM)


def group_by_volume(entries: Iterable[Numbered]) -> tuple[HousedVolume, ...]:
    """Return the volumes of a log in display order; void entries are left out."""
    live = [row for row in entries if row[1].status is not Status.VOID]
    order: dict[VolumeKey, list[Numbered]] = {}
    for key, rows in groupby(live, key=lambda row: key_of(row[1])):
        order.setdefault(key, []).extend(rows)
    return tuple(_make_volume(rows) for rows in order.values())


def whereabouts_of(entry: Entry) -> Whereabouts:
    """Return where an item is.

    What the log says to be missing was gone before; what has an enclosure is in it; what was
    isolated is apart; what came off and has no enclosure still lies on the bench.
    """
    if "missing item" in entry.condition:
        return Whereabouts.MISSING
    if entry.enclosure is not None:
        return Whereabouts.ENCLOSED
    if "isolated" in entry.action:
        return Whereabouts.SET_ASIDE
    if "detached" in entry.action or entry.adhesion is Adhesion.LOOSE:
        return Whereabouts.NOT_ENCLOSED
    laid_in = "laid in" in entry.attachment
    if laid_in or (entry.leaf is not None and Place(leaf=entry.leaf).is_insert):
        return Whereabouts.FOUND_LOOSE
    return Whereabouts.IN_PLACE


def is_on_its_page(entry: Entry) -> bool:
    """Whether an item still lies where it was found."""
    return whereabouts_of(entry) in {Whereabouts.IN_PLACE, Whereabouts.FOUND_LOOSE}


def enclosure_order(label: str) -> tuple[str, int, str]:
    """Return a key that puts "envelope 2" before "envelope 10"."""
    found = _NUMBERED_ENCLOSURE.fullmatch(label)
    return (found[1], int(found[2]), found[3]) if found else (label, 0, "")


def enclosure_kind(label: str) -> str:
    """Return what an enclosure is, without its number.

    >>> enclosure_kind("four-flap wrapper 3")
    'four-flap wrapper'
    """
    return enclosure_order(label)[0]


def without_private_words(volumes: Sequence[HousedVolume]) -> tuple[HousedVolume, ...]:
    """Return volumes in which restricted entries keep their place but not their words.

    Place, type, mark and enclosure stay: without them nothing could be put back. Caption,
    remark, date and doubts (which quote what was said) are withheld.
    """
    return tuple(
        replace(
            volume,
            own=None if volume.own is None else (volume.own[0], _withhold(volume.own[1])),
            rows=tuple((number, _withhold(entry)) for number, entry in volume.rows),
        )
        for volume in volumes
    )


def _withhold(entry: Entry) -> Entry:
    if entry.access is not Access.RESTRICTED:
        return entry
    return replace(entry, caption=None, remark=None, date=None, doubts=())


def _make_volume(rows: list[Numbered]) -> HousedVolume:
    own = next((row for row in rows if row[1].kind is Kind.VOLUME), None)
    first = rows[0][1]
    name = own[1].volume_name if own is not None else None
    return HousedVolume(
        accession=first.accession,
        volume=first.volume,
        name=name or next((entry.volume_name for _, entry in rows if entry.volume_name), None),
        own=own,
        rows=tuple(row for row in rows if row is not own),
    )


def _without_article(name: str | None) -> str | None:
    return name.removeprefix("the ") if name else name
