"""Dublin Core: the fifteen elements, one file for each item.

Dublin Core Metadata Element Set, version 1.1; each file has the root ``simpledc`` of the XML
container schema of 2 April 2003 (Dublin Core Metadata Initiative).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from voicelog.domain.entry import Access, Entry, Status
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import NOWHERE
from voicelog.exports.target import Unfinished
from voicelog.exports.volumes import describe_place, iter_volumes
from voicelog.exports.wording import (
    format_size,
    in_number,
    name_type,
    say_labelled,
    say_value,
    title_of_item,
)
from voicelog.exports.xml_text import clean, write_document, xml_id

NAMESPACE = "http://purl.org/dc/elements/1.1/"
ORDER = (
    "title",
    "creator",
    "subject",
    "description",
    "publisher",
    "contributor",
    "date",
    "type",
    "format",
    "identifier",
    "source",
    "language",
    "relation",
    "coverage",
    "rights",
)
_PLACE = ("accession", "volume", "volume_name", "leaf", "side", "item")
"""The fields that say where an item is; those that share an element share one value."""
_BARE = ("id", "item_type", "date", "mark", "recorded_at", "handler")
"""The fields that need no word before them wherever they go."""
_LABELLED = (
    "attachment",
    "adhesion",
    "condition",
    "action",
    "position",
    "images",
    "enclosure",
    "remark",
    "cautions",
)


def write_dublin_core(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write a folder with one file for each item, named for the entry's id."""
    from lxml import etree  # noqa: PLC0415 - only XML formats need it

    for volume in iter_volumes(consignment.selection):
        siblings = {entry.id: entry for entry in volume.entries()}
        for item in volume.items():
            root = etree.Element("simpledc", nsmap={"dc": NAMESPACE})
            values = _values(item, consignment, siblings)
            for element in ORDER:
                for value in values.get(element, ()):
                    etree.SubElement(root, f"{{{NAMESPACE}}}{element}").text = clean(value)
            write_document(unfinished.path / f"{xml_id(item.id)}.xml", root)


def _values(
    item: Entry, consignment: Consignment, siblings: Mapping[str, Entry]
) -> Mapping[str, list[str]]:
    values: dict[str, list[str]] = {}
    for element, value in _iter_values(item, consignment, siblings):
        values.setdefault(element, []).append(value)
    values.setdefault("title", []).append(title_of_item(item, consignment.crosswalk))
    # A caption that went to the title is the title; what the item is goes on as its type.
    del values["title"][1:]
    if consignment.repository:
        values["publisher"] = [consignment.repository]
    return values


def _iter_values(
    item: Entry, consignment: Consignment, siblings: Mapping[str, Entry]
) -> Iterator[tuple[str, str]]:
    crosswalk = consignment.crosswalk
    places: dict[str, list[str]] = {}
    for field in _PLACE:
        places.setdefault(crosswalk.place("dc", field), []).append(field)
    for element, fields in places.items():
        if element != NOWHERE and (said := _say_place(item, fields)):
            yield element, said
    for field in (*_BARE, "caption", "relations", *_LABELLED):
        element = crosswalk.place("dc", field)
        if element == NOWHERE:
            continue
        is_bare = field in _BARE or element in {"title", "relation"}
        if field == "item_type":
            said_values: tuple[str, ...] = item.item_type
        elif is_bare:
            said_values = say_value(
                item, field, siblings=siblings, vocabulary=consignment.vocabulary
            )
        else:
            said_values = say_labelled(
                item,
                field,
                crosswalk=crosswalk,
                siblings=siblings,
                vocabulary=consignment.vocabulary,
            )
        for value in said_values:
            yield element, value
    yield from _iter_amounts(item, consignment)
    yield from _iter_marks(item, consignment)


def _iter_amounts(item: Entry, consignment: Consignment) -> Iterator[tuple[str, str]]:
    if (element := consignment.crosswalk.place("dc", "quantity")) != NOWHERE:
        yield element, f"{item.quantity} {in_number(name_type(item), item.quantity)}"
    if (element := consignment.crosswalk.place("dc", "dimensions")) != NOWHERE and item.dimensions:
        yield element, f"{format_size(item)} mm"


def _iter_marks(item: Entry, consignment: Consignment) -> Iterator[tuple[str, str]]:
    crosswalk, texts = consignment.crosswalk, consignment.crosswalk.texts
    if item.access is Access.RESTRICTED:
        yield crosswalk.place("dc", "access"), texts.restricted
    if texts.terms_of_use:
        yield "rights", texts.terms_of_use
    if item.status is not Status.CONFIRMED:
        yield crosswalk.place("dc", "status"), texts.unconfirmed
        if (element := crosswalk.place("dc", "doubts")) != NOWHERE:
            for doubt in dict.fromkeys(doubt.message for doubt in item.doubts):
                yield element, doubt


def _say_place(item: Entry, fields: list[str]) -> str:
    parts: list[str] = []
    if "accession" in fields and item.accession:
        parts.append(item.accession)
    if "volume" in fields and item.volume:
        parts.append(f"volume {item.volume}")
    if "volume_name" in fields and item.volume_name:
        parts.append(item.volume_name)
    if "leaf" in fields and item.leaf:
        parts.append(describe_place(item.leaf, item.side if "side" in fields else None))
    if "item" in fields and item.item is not None:
        parts.append(f"item {item.item}")
    return ", ".join(parts)
