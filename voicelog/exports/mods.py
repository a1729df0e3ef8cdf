"""MODS 3.8: one record for each item, with its volume as the host.

Metadata Object Description Schema, version 3.8 (Library of Congress, 2022).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from voicelog.domain.entry import Access, Entry, Status
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import NOWHERE
from voicelog.exports.dates import read_date
from voicelog.exports.target import Unfinished
from voicelog.exports.volumes import VolumePart, iter_volumes
from voicelog.exports.wording import (
    AAT,
    find_authority,
    format_size,
    in_number,
    name_type,
    say_value,
    title_of_item,
    title_of_volume,
)
from voicelog.exports.xml_text import Builder, record_stream
from voicelog.vocabulary import TermField

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

NAMESPACE = "http://www.loc.gov/mods/v3"
_NOTED = (
    "attachment",
    "adhesion",
    "condition",
    "action",
    "caption",
    "position",
    "images",
    "mark",
    "relations",
    "cautions",
    "remark",
)
# Of our fields, the types of notes that the Library of Congress suggests for MODS have a word for
# this one (from memory); a remark is a note without a type, and the rest have their own names.
_NOTE_TYPES: Mapping[str, str | None] = {"caption": "inscription", "remark": None}


def write_mods(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one record for each item; the items of one volume at a time are in memory."""
    maker = _RecordMaker(consignment)
    wrapper = Builder(NAMESPACE).root("modsCollection")
    with record_stream(unfinished.path, wrapper) as records:
        for volume in iter_volumes(consignment.selection):
            siblings = {entry.id: entry for entry in volume.entries()}
            for item in volume.items():
                records.write(maker.make(item, volume, siblings))


class _RecordMaker:
    def __init__(self, consignment: Consignment) -> None:
        self._consignment = consignment
        self._crosswalk = consignment.crosswalk
        self._build = Builder(NAMESPACE)

    def make(self, item: Entry, volume: VolumePart, siblings: Mapping[str, Entry]) -> Element:
        add, texts = self._build.add, self._crosswalk.texts
        record = self._build.root("mods", version="3.8")
        add(add(record, "titleInfo"), "title", title_of_item(item, self._crosswalk))
        self._add_genres(record, item)
        if item.date and self._goes("date"):
            certainty = read_date(item.date).certainty
            add(
                add(record, "originInfo"),
                "dateCreated",
                item.date,
                encoding="edtf",
                qualifier=certainty.split()[0] if certainty else None,
            )
        self._add_physical_description(record, item, siblings)
        self._add_notes(record, item, siblings, place="note")
        self._add_host(record, item, volume)
        if self._goes("id"):
            add(record, "identifier", item.id, type="local")
        self._add_location(record, item)
        if item.access is Access.RESTRICTED:
            add(record, "accessCondition", texts.restricted, type="restriction on access")
        if texts.terms_of_use:
            add(record, "accessCondition", texts.terms_of_use, type="use and reproduction")
        self._add_record_info(record, item)
        return record

    def _add_genres(self, record: Element, item: Entry) -> None:
        if not self._goes("item_type"):
            return
        for term in item.item_type:
            address = find_authority(self._consignment.vocabulary, TermField.ITEM_TYPE, term)
            is_aat = bool(address and address.startswith(AAT))
            self._build.add(
                record, "genre", term, authority="aat" if is_aat else None, valueURI=address
            )

    def _add_physical_description(
        self, record: Element, item: Entry, siblings: Mapping[str, Entry]
    ) -> None:
        description = self._build.add(record, "physicalDescription")
        if self._goes("quantity"):
            extent = f"{item.quantity} {in_number(name_type(item), item.quantity)}"
            self._build.add(description, "extent", extent)
        if item.dimensions and self._goes("dimensions"):
            self._build.add(description, "extent", format_size(item), unit="mm")
        self._add_notes(description, item, siblings, place="physicalDescription")
        if len(description) == 0:
            record.remove(description)

    def _add_notes(
        self, parent: Element, item: Entry, siblings: Mapping[str, Entry], *, place: str
    ) -> None:
        for field in _NOTED:
            if self._crosswalk.place("mods", field) != place:
                continue
            type_ = _NOTE_TYPES.get(field, field)
            for value in say_value(
                item, field, siblings=siblings, vocabulary=self._consignment.vocabulary
            ):
                self._build.add(parent, "note", value, type=type_)

    def _add_host(self, record: Element, item: Entry, volume: VolumePart) -> None:
        add = self._build.add
        host = add(record, "relatedItem", type="host")
        if self._goes("volume_name"):
            add(add(host, "titleInfo"), "title", title_of_volume(volume, self._crosswalk))
        if item.accession and self._goes("accession"):
            add(host, "identifier", item.accession, type="accession number")
        part = add(host, "part")
        for field in ("volume", "leaf", "side", "item"):
            value = getattr(item, field)
            if value is not None and self._goes(field):
                add(add(part, "detail", type=field), "number", str(value))
        if len(part) == 0:
            host.remove(part)

    def _add_location(self, record: Element, item: Entry) -> None:
        add = self._build.add
        enclosure = item.enclosure if self._goes("enclosure") else None
        repository = self._consignment.repository
        if not enclosure and not repository:
            return
        location = add(record, "location")
        if repository:
            add(location, "physicalLocation", repository)
        if enclosure:
            add(location, "shelfLocator", enclosure)

    def _add_record_info(self, record: Element, item: Entry) -> None:
        add, codes = self._build.add, self._crosswalk.repository
        info = add(record, "recordInfo")
        if self._consignment.repository:
            add(info, "recordContentSource", self._consignment.repository)
        if item.recorded_at and self._goes("recorded_at"):
            add(info, "recordCreationDate", item.recorded_at, encoding="w3cdtf")
        add(info, "recordIdentifier", item.id)
        add(add(info, "languageOfCataloging"), "languageTerm", codes.language, type="code",
            authority="iso639-2b")  # fmt: skip
        add(info, "descriptionStandard", codes.rules)
        if self._crosswalk.texts.description:
            add(info, "recordInfoNote", self._crosswalk.texts.description)
        if item.status is not Status.CONFIRMED:
            add(info, "recordInfoNote", self._crosswalk.texts.unconfirmed, type="status")
            if self._goes("doubts"):
                for doubt in say_value(
                    item, "doubts", siblings={}, vocabulary=self._consignment.vocabulary
                ):
                    add(info, "recordInfoNote", doubt, type="doubt")

    def _goes(self, field: str) -> bool:
        return self._crosswalk.place("mods", field) != NOWHERE
