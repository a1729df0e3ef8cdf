"""What a finding aid says, before it is EAD3 or EAD 2002: components, one inside the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from voicelog.domain.entry import Access, Entry, Kind, Side, Status
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import NOWHERE, Crosswalk, Level
from voicelog.exports.dates import ReadDate, read_date
from voicelog.exports.ead.components import (
    AccessionPart,
    Component,
    Description,
    Extent,
    Genre,
)
from voicelog.exports.volumes import LeafPart, VolumePart, count_pieces, iter_volumes
from voicelog.exports.wording import (
    count_terms,
    find_authority,
    format_size,
    in_number,
    join_places,
    name_type,
    say_labelled,
    split_enclosure,
    title_of_item,
    title_of_volume,
)
from voicelog.exports.xml_text import xml_id
from voicelog.vocabulary import TermField

PHYSFACET = "physfacet"
_SIDE_LETTERS = {Side.RECTO: "r", Side.VERSO: "v", None: ""}
_NOTED = (
    "caption",
    "blank",
    "attachment",
    "adhesion",
    "binding",
    "support",
    "overlay",
    "condition",
    "cautions",
    "action",
    "position",
    "mark",
    "images",
    "relations",
    "remark",
    "recorded_at",
    "handler",
)
"""The fields that become facets or notes, in the order in which they stand there."""
_SUMMED = ("attachment", "condition", "action")
"""The fields of leaves and items that a component says in sum when they have none of their own."""


def describe(consignment: Consignment) -> Description:
    """Return what is said of all that is exported, accession by accession.

    Everything is gone through once, with one volume in memory.
    """
    counts: dict[str | None, int] = {}
    years: dict[str | None, list[tuple[str, str]]] = {}
    runs: list[str | None] = []
    for volume in iter_volumes(consignment.selection):
        number = volume.key.accession
        counts[number] = counts.get(number, 0) + 1
        if span := volume.years():
            years.setdefault(number, []).append(span)
        if runs[-1:] != [number]:
            runs.append(number)
    accessions = tuple(
        AccessionPart(
            number=number,
            title=_title(number, consignment.crosswalk),
            volumes=count,
            years=_span(years.get(number, [])),
            notes=tuple(_accession_notes(number, consignment.crosswalk)),
        )
        for number, count in counts.items()
    )
    return Description(
        id=str(consignment.log.facts()["uid"]),
        title="; ".join(one.title for one in accessions) or "No entries",
        agency=consignment.repository or "Repository not named",
        accessions=accessions,
        is_in_runs=len(runs) == len(counts),
    )


def describe_volumes(
    consignment: Consignment, format_name: str, description: Description
) -> Iterator[Iterator[Component]]:
    """Yield for each accession of a description its volumes, one in memory at a time.

    Args:
        consignment: what is exported.
        format_name: the format whose places the crosswalk is asked for.
        description: what :func:`describe` said of it.
    """
    describer = _Describer(consignment, format_name)
    if description.is_in_runs:
        volumes = iter_volumes(consignment.selection)
        for _, run in groupby(volumes, key=lambda volume: volume.key.accession):
            yield map(describer.describe_volume, run)
        return
    for accession in description.accessions:
        yield (
            describer.describe_volume(volume)
            for volume in iter_volumes(consignment.selection)
            if volume.key.accession == accession.number
        )


def _title(number: str | None, crosswalk: Crosswalk) -> str:
    if title := crosswalk.accession(number).title:
        return title
    return f"Accession {number}" if number else "Accession not recorded"


def _accession_notes(number: str | None, crosswalk: Crosswalk) -> Iterator[tuple[str, str]]:
    facts, texts = crosswalk.accession(number), crosswalk.texts
    acquired = ", ".join(part for part in (facts.method, facts.source, facts.date) if part)
    for element, text in (
        ("custodhist", facts.custodial_history),
        ("acqinfo", acquired),
        ("processinfo", texts.description),
        ("userestrict", texts.terms_of_use),
    ):
        if text:
            yield element, text


class _Describer:
    def __init__(self, consignment: Consignment, format_name: str) -> None:
        self._vocabulary = consignment.vocabulary
        self._crosswalk = consignment.crosswalk
        self._format = format_name
        self._level = consignment.crosswalk.levels[format_name]

    def describe_volume(self, volume: VolumePart) -> Component:
        siblings = {entry.id: entry for entry in volume.entries()}
        entry = volume.entry
        below = [one for one in volume.entries() if one is not entry]
        deeper = self._level is not Level.VOLUME
        unitid = self._unitid(volume.key.accession, volume.key.volume)
        own = [Extent(quantity=1, unit="volume", is_carrier=True)]
        if entry and entry.leaves is not None and self._goes("leaves"):
            own.append(
                Extent(quantity=entry.leaves, unit="leaf" if entry.leaves == 1 else "leaves")
            )
        if entry and entry.date:
            date = self._date(entry)
        else:
            date = _span([span] if (span := volume.years()) and self._goes("date") else [])
        return Component(
            level=Level.VOLUME,
            id=xml_id(entry.id) if entry else None,
            unitid=unitid,
            title=title_of_volume(volume, self._crosswalk),
            date=date,
            extents=(*own, *self._count(count_pieces(volume.items()))),
            facets=self._facets(entry, siblings),
            size=format_size(entry) if entry and self._goes("dimensions") else "",
            enclosures=self._enclosures([entry] if deeper else list(volume.entries())),
            genres=() if deeper else self._genres(below),
            notes=self._notes(entry, siblings, below, sums_up=not deeper),
            restricted=_restricted_places([entry] if deeper else volume.entries()),
            parts=tuple(self._describe_leaf(leaf, unitid, siblings) for leaf in volume.leaves)
            if deeper
            else (),
        )

    def _describe_leaf(
        self, leaf: LeafPart, above: str, siblings: Mapping[str, Entry]
    ) -> Component:
        entry = leaf.entry
        deeper = self._level is Level.ITEM
        everything = [one for one in (entry, *leaf.items) if one]
        unitid = f"{above}/{leaf.leaf or '-'}{_SIDE_LETTERS[leaf.side]}"
        date = entry and entry.date and self._date(entry)
        return Component(
            level=Level.LEAF,
            id=xml_id(entry.id) if entry else None,
            unitid=unitid,
            title=leaf.name,
            date=date or None,
            extents=self._count(count_pieces(leaf.items)),
            facets=self._facets(entry, siblings),
            size=format_size(entry) if entry and self._goes("dimensions") else "",
            enclosures=self._enclosures([entry] if deeper else everything),
            genres=() if deeper else self._genres(leaf.items),
            notes=self._notes(entry, siblings, leaf.items, sums_up=not deeper),
            restricted=_restricted_places([entry] if deeper else everything),
            parts=tuple(self._describe_item(item, unitid, siblings) for item in leaf.items)
            if deeper
            else (),
        )

    def _describe_item(self, item: Entry, above: str, siblings: Mapping[str, Entry]) -> Component:
        count = Extent(quantity=item.quantity, unit=in_number(name_type(item), item.quantity))
        return Component(
            level=Level.ITEM,
            id=xml_id(item.id),
            unitid=f"{above}/{item.item if item.item is not None else '-'}",
            title=title_of_item(item, self._crosswalk),
            date=self._date(item) if item.date else None,
            extents=(count,) if self._goes("quantity") else (),
            facets=self._facets(item, siblings),
            size=format_size(item) if self._goes("dimensions") else "",
            enclosures=self._enclosures([item]),
            genres=self._genres([item]),
            notes=self._notes(item, siblings, (), sums_up=False),
            restricted=_restricted_places([item]),
        )

    def _goes(self, field: str) -> bool:
        return self._crosswalk.place(self._format, field) != NOWHERE

    def _unitid(self, accession: str | None, volume: str | None) -> str:
        return f"{accession or '-'}/{volume or '-'}"

    def _date(self, entry: Entry) -> ReadDate | None:
        return read_date(entry.date) if entry.date and self._goes("date") else None

    def _count(self, pieces: Counter[str]) -> tuple[Extent, ...]:
        if not self._goes("quantity"):
            return ()
        return tuple(
            Extent(quantity=count, unit=in_number(term, count), is_whole=False)
            for term, count in sorted(pieces.items(), key=lambda one: (-one[1], one[0]))
        )

    def _genres(self, entries: Sequence[Entry]) -> tuple[Genre, ...]:
        if not self._goes("item_type"):
            return ()
        terms = dict.fromkeys(term for entry in entries for term in entry.item_type)
        return tuple(
            Genre(term=term, address=find_authority(self._vocabulary, TermField.ITEM_TYPE, term))
            for term in terms
        )

    def _enclosures(self, entries: Iterable[Entry | None]) -> tuple[tuple[str, str], ...]:
        if not self._goes("enclosure"):
            return ()
        said = dict.fromkeys(entry.enclosure for entry in entries if entry and entry.enclosure)
        return tuple(split_enclosure(enclosure) for enclosure in said)

    def _say(self, entry: Entry, field: str, siblings: Mapping[str, Entry]) -> tuple[str, ...]:
        return say_labelled(
            entry,
            field,
            crosswalk=self._crosswalk,
            siblings=siblings,
            vocabulary=self._vocabulary,
        )

    def _facets(self, entry: Entry | None, siblings: Mapping[str, Entry]) -> tuple[str, ...]:
        fields = [f for f in _NOTED if self._crosswalk.place(self._format, f) == PHYSFACET]
        return tuple(s for f in fields if entry for s in self._say(entry, f, siblings))

    def _notes(
        self,
        entry: Entry | None,
        siblings: Mapping[str, Entry],
        below: Sequence[Entry],
        *,
        sums_up: bool,
    ) -> Mapping[str, tuple[str, ...]]:
        notes: dict[str, list[str]] = {}
        for field in _NOTED:
            place = self._crosswalk.place(self._format, field)
            if place == NOWHERE:
                continue
            if entry and place != PHYSFACET:
                notes.setdefault(place, []).extend(self._say(entry, field, siblings))
            if sums_up and field in _SUMMED and (said := count_terms(below, field)):
                # What is only said in sum describes no single piece: it is a note, not a facet.
                where = "scopecontent" if place == PHYSFACET else place
                label = self._crosswalk.labels[field]
                notes.setdefault(where, []).append(f"{label}, leaves and items: {said}")
        if marked := self._mark_unconfirmed(entry, below if sums_up else ()):
            place = self._crosswalk.place(self._format, "status")
            notes.setdefault(place, []).extend(marked)
        return {place: tuple(said) for place, said in notes.items() if said}

    def _mark_unconfirmed(self, entry: Entry | None, below: Sequence[Entry]) -> list[str]:
        text = self._crosswalk.texts.unconfirmed
        marked: list[str] = []
        if entry and entry.status is not Status.CONFIRMED:
            marked.append(text)
            if self._goes("doubts"):
                marked.extend(self._say(entry, "doubts", {}))
        open_ones = [one for one in below if one.status is not Status.CONFIRMED]
        if open_ones:
            marked.append(f"{text} ({join_places(open_ones)})")
        return marked


def _restricted_places(entries: Iterable[Entry | None]) -> str:
    found = [entry for entry in entries if entry and entry.access is Access.RESTRICTED]
    if not found:
        return ""
    if any(entry.kind is Kind.VOLUME for entry in found):
        return "volume"
    return join_places(found)


def _span(years: list[tuple[str, str]]) -> ReadDate | None:
    if not years:
        return None
    first, last = min(one[0] for one in years), max(one[1] for one in years)
    return read_date(first if first == last else f"{first}/{last}")
