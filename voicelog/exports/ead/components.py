"""A finding aid as values: what EAD says of accessions, volumes, leaves and items."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from voicelog.exports.crosswalk import Level
from voicelog.exports.dates import ReadDate


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """How much there is of something.

    Attributes:
        quantity: how many.
        unit: of what, in the number that fits.
        is_carrier: whether it counts carriers (volumes) rather than kinds of material.
        is_whole: whether it speaks of the whole component.
    """

    quantity: int
    unit: str
    is_carrier: bool = False
    is_whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Genre:
    """A controlled term, with the address of its published authority where it has one."""

    term: str
    address: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One component of the description.

    Attributes:
        level: volume, leaf or item.
        id: unique in the document; None for a volume or leaf that has no entry.
        unitid: accession, volume, place and item, with slashes between.
        title: its title.
        date: when it is from, or None.
        extents: how much; the first one carries facets and size.
        facets: words about how it is made and held.
        size: height and width in millimetres, or "".
        enclosures: kind and number of what it is kept in.
        genres: controlled terms.
        notes: element name and paragraphs.
        restricted: the places of restricted entries that it speaks of, or "".
        parts: the components inside it.
    """

    level: Level
    id: str | None
    unitid: str
    title: str
    date: ReadDate | None
    extents: tuple[Extent, ...]
    facets: tuple[str, ...]
    size: str
    enclosures: tuple[tuple[str, str], ...]
    genres: tuple[Genre, ...]
    notes: Mapping[str, tuple[str, ...]]
    restricted: str
    parts: tuple[Component, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessionPart:
    """One accession; its volumes are described one at a time (:func:`describe_volumes`).

    Attributes:
        number: the accession number, or None where it was never said.
        title: its title.
        volumes: how many volumes it has.
        years: the first and the last year of anything in them, or None.
        notes: element name and text of what is known of it beyond the log.
    """

    number: str | None
    title: str
    volumes: int
    years: ReadDate | None
    notes: tuple[tuple[str, str], ...]

    @property
    def extent(self) -> Extent:
        """How many volumes there are."""
        unit = "volume" if self.volumes == 1 else "volumes"
        return Extent(quantity=self.volumes, unit=unit, is_carrier=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """What a whole finding aid says above its volumes.

    Attributes:
        id: the log's own id.
        title: of what it is the finding aid.
        agency: the repository's name.
        accessions: what it describes; one is its subject, several or none are inside one.
        is_in_runs: whether the volumes of every accession stand together in the log.
    """

    id: str
    title: str
    agency: str
    accessions: tuple[AccessionPart, ...]
    is_in_runs: bool
