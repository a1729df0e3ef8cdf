"""The words that a guide has in both its forms, HTML and PDF."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from voicelog.domain.entry import Entry, Kind
from voicelog.domain.place import Place
from voicelog.housing.guide.views import (
    Guide,
    PageView,
    describe_entry,
    describe_whereabouts,
)
from voicelog.housing.openings import find_leaves, format_place
from voicelog.housing.volumes import (
    Numbered,
    Whereabouts,
    enclosure_order,
    whereabouts_of,
)

LEAD = (
    "Where everything in this volume was, for somebody who never saw it. It says where things "
    "belong; how, and whether, anything is put back or held again is for those who may decide."
)
DRAWING_NOTE = (
    "Drawings are made from what was said: a position is one of nine fields, not a measurement. "
    "Numbers are the order on the side."
)
KEY: tuple[tuple[Whereabouts, str], ...] = (
    (Whereabouts.IN_PLACE, "in place"),
    (Whereabouts.FOUND_LOOSE, "found loose, left where it lay"),
    (Whereabouts.ENCLOSED, "removed to an enclosure"),
    (Whereabouts.MISSING, "missing already"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemWords:
    """An item as the guide lists it.

    Attributes:
        order: its order on the side, or "–".
        description: what it is and how it was held.
        whereabouts: where it is now.
        mark: what is written on it, or "".
        caption: what is written on or about it, or "".
        remark: words that fit no field, or "".
        ties: how it lies to other items, in plain words.
        number: the entry's display number.
        where: where it is now, for its colour.
    """

    order: str
    description: str
    whereabouts: str
    mark: str
    caption: str
    remark: str
    ties: str
    number: int
    where: Whereabouts


class Wording:
    """Words about the entries of one guide; knows which entry an id belongs to."""

    def __init__(self, guide: Guide) -> None:
        self._guide = guide
        self._by_id = {entry.id: (number, entry) for number, entry in guide.volume.rows}

    def of_item(self, row: Numbered, *, is_guessed: bool = False) -> ItemWords:
        """Return an item as it is listed; a guessed place on the drawing is told."""
        number, entry = row
        described = describe_entry(entry)
        if is_guessed:
            described += " (where on the side wasn't said)"
        return ItemWords(
            order=str(entry.item) if entry.item is not None else "–",
            description=described,
            whereabouts=describe_whereabouts(entry),
            mark=entry.mark or "",
            caption=entry.caption or "",
            remark=entry.remark or "",
            ties="; ".join(
                f"{relation.kind} {self._name(relation.id)}" for relation in entry.relations
            ),
            number=number,
            where=whereabouts_of(entry),
        )

    def facts(self) -> Iterator[tuple[str, str]]:
        """Yield name and value of what is known of the volume."""
        entry = self._guide.volume.entry
        yield "accession", self._guide.volume.accession or "not known yet"
        if entry is not None:
            yield from (
                (name, value)
                for name, value in (
                    ("binding", entry.binding),
                    ("support", entry.support),
                    ("overlay", entry.overlay),
                    ("size", _size(entry.dimensions)),
                    ("condition", ", ".join(entry.condition)),
                    ("kept in", entry.enclosure),
                )
                if value
            )
        said = entry.leaves if entry is not None else None
        shown = len(find_leaves(self._guide.volume))
        yield "leaves", str(said) if said else f"number not said; {shown} in this guide"

    def counts(self) -> Iterator[tuple[str, int]]:
        """Yield how many items are where."""
        for where in Whereabouts:
            if count := len(self._guide.find(where)):
                yield str(where), count

    def enclosures(self) -> Iterator[tuple[str, tuple[Numbered, ...]]]:
        """Yield every enclosure with the items in it, by its number."""
        held: dict[str, list[Numbered]] = {}
        for row in self._guide.find(Whereabouts.ENCLOSED):
            held.setdefault(row[1].enclosure or "", []).append(row)
        for label in sorted(held, key=enclosure_order):
            yield label, tuple(held[label])

    def _name(self, id_: str) -> str:
        found = self._by_id.get(id_)
        if found is None:
            return "another entry"
        number, entry = found
        what = entry.item_type[0] if entry.item_type else "item"
        order = f", item {entry.item}" if entry.item is not None else ""
        return f"the {what}{order} (entry {number})"


def _size(dimensions: tuple[float, float] | None) -> str:
    return f"{dimensions[0]:g} x {dimensions[1]:g} mm" if dimensions is not None else ""


def notes_of_page(page: PageView) -> Iterator[str]:
    """Yield what was said of the page itself, not of an item on it."""
    for _, entry in page.rows:
        if entry.kind is Kind.ITEM:
            continue
        facts = [*entry.condition, *([entry.remark] if entry.remark else [])]
        if entry.caption:
            facts.append(f"“{entry.caption}”")
        if entry.images:
            facts.append(f"image {', '.join(map(str, entry.images))}")
        if facts:
            yield ", ".join(facts)


def describe_home(entry: Entry) -> str:
    """Return leaf, side and order of an item: where it belongs."""
    if entry.leaf is None:
        return "place not said"
    place = format_place(Place(leaf=entry.leaf, side=entry.side))
    return f"{place}, item {entry.item}" if entry.item is not None else place
