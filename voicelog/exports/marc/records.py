"""MARCXML: one bibliographic record for each volume, under archival control.

Fields after the MARC 21 Format for Bibliographic Data (Library of Congress), the XML after
MARC21slim 1.2.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from voicelog.domain.entry import Access, Entry, Status
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import NOWHERE
from voicelog.exports.dates import read_date
from voicelog.exports.marc.action_notes import NOT_PRIVATE, make_action_notes
from voicelog.exports.target import Unfinished
from voicelog.exports.volumes import VolumePart, count_pieces, describe_place, iter_volumes
from voicelog.exports.wording import (
    AAT,
    count_terms,
    find_authority,
    format_size,
    in_number,
    join_places,
    say_labelled,
    say_value,
    title_of_volume,
)
from voicelog.exports.xml_text import clean
from voicelog.vocabulary import TermField

if TYPE_CHECKING:
    from pymarc import Record

NAMESPACE = "http://www.loc.gov/MARC21/slim"
# Position 5 new, 6 mixed materials, 7 collection, 8 archival control, 9 Unicode, 17 minimal
# level, 18 form of description not known.
_LEADER = "00000npcaa22000007u 4500"
_PLACED = ("binding", "support", "overlay", "caption", "remark", "cautions")
"""The fields of the volume entry whose place the crosswalk chooses."""
_NOTES = ("500", "520", "590")
"""The places that are prose, so that a value needs a word before it."""
_ARTICLES = ("the ", "a ", "an ")

Subfields = list[tuple[str, str]]


def write_marcxml(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one record for each volume; one volume at a time is in memory."""
    from pymarc import record_to_xml_node  # noqa: PLC0415 - only this format needs it

    with unfinished.path.open("xb") as stream:
        stream.write(b'<?xml version="1.0" encoding="UTF-8"?>\n')
        stream.write(f'<collection xmlns="{NAMESPACE}">\n'.encode())
        for volume in iter_volumes(consignment.selection):
            node = record_to_xml_node(_VolumeRecord(consignment, volume).make())
            ET.indent(node)
            stream.write(ET.tostring(node, encoding="utf-8") + b"\n")
        stream.write(b"</collection>\n")


class _VolumeRecord:
    """Makes the record of one volume, field by field in the order of their tags."""

    def __init__(self, consignment: Consignment, volume: VolumePart) -> None:
        self._consignment = consignment
        self._crosswalk = consignment.crosswalk
        self._volume = volume
        self._entries = tuple(volume.entries())
        self._facts = consignment.crosswalk.accession(volume.key.accession)
        self._code = consignment.crosswalk.repository.marc_code

    def make(self) -> Record:
        from pymarc import Field, Indicators, Leader, Record, Subfield  # noqa: PLC0415

        record = Record()
        record.leader = Leader(_LEADER)
        for tag, value in self._control_fields():
            record.add_field(Field(tag=tag, data=clean(value)))
        for tag, indicators, subfields in self._data_fields():
            record.add_field(
                Field(
                    tag=tag,
                    indicators=Indicators(*indicators),
                    subfields=[
                        Subfield(code=code, value=clean(value)) for code, value in subfields
                    ],
                )
            )
        return record

    def _control_fields(self) -> Iterator[tuple[str, str]]:
        key = self._volume.key
        own = self._volume.entry
        yield "001", own.id if own else f"{key.accession or '-'}/{key.volume or '-'}"
        if self._code:
            yield "003", self._code
        digits = "".join(filter(str.isdigit, self._consignment.as_of))[:14]
        yield "005", f"{digits}.0"
        yield "008", self._fixed_data(digits)

    def _fixed_data(self, digits: str) -> str:
        # Date entered; kind of date and the dates; place and language unknown; made elsewhere.
        years = self._years()
        kind, first, last = (
            ("n", "uuuu", "uuuu")
            if years is None
            else ("s", years[0], "    ")
            if years[0] == years[1]
            else ("i", *years)
        )
        return f"{digits[2:8]}{kind}{first}{last}xx {' ' * 17}und d"

    def _data_fields(self) -> Iterator[tuple[str, str, Subfields]]:
        rules = self._crosswalk.repository
        by = [("a", self._code)] if self._code else []
        cataloguing = [*by, ("b", rules.language), ("e", rules.rules)]
        yield "040", "  ", cataloguing + ([("c", self._code)] if self._code else [])
        yield from self._date()
        title, dates = title_of_volume(self._volume, self._crosswalk), self._say_years()
        article = next((each for each in _ARTICLES if title.lower().startswith(each)), "")
        subfields = [("a", f"{title},"), ("f", f"{dates}.")] if dates else [("a", f"{title}.")]
        yield "245", f"0{len(article)}", subfields
        yield "300", "  ", self._extent()
        for code in ("a", "e"):
            for value in self._placed(f"340${code}"):
                yield "340", "  ", [(code, value)]
        yield from self._notes()
        yield from self._access()
        yield "520", "  ", [("a", self._summary())]
        yield from self._acquisition()
        for value in self._placed("563"):
            yield "563", "  ", [("a", value), *self._institution()]
        for note in make_action_notes(self._volume, self._crosswalk):
            yield "583", f"{NOT_PRIVATE} ", list(note.subfields)
        for value in self._placed("590"):
            yield "590", "  ", [("a", value)]
        yield from self._genres()
        if self._consignment.repository:
            yield "852", "  ", [("a", self._consignment.repository)]

    def _date(self) -> Iterator[tuple[str, str, Subfields]]:
        own = self._volume.entry
        if own and own.date and self._goes("date"):
            ends = own.date.split("/") if own.date.count("/") == 1 else [own.date]
            subfields = [(code, end) for code, end in zip("kl", ends, strict=False) if end]
            yield "046", "  ", [*subfields, ("2", "edtf")]

    def _extent(self) -> Subfields:
        own = self._volume.entry
        leaves = own.leaves if own and self._goes("leaves") else None
        count = "" if leaves is None else f" ({leaves} {'leaf' if leaves == 1 else 'leaves'})"
        details = ", ".join(self._placed("300$b"))
        size = format_size(own) if own and self._goes("dimensions") else ""
        subfields = [("a", f"1 volume{count}")]
        if details:
            subfields.append(("b", details))
        if size:
            subfields.append(("c", f"{size} mm"))
        # The signs between them are those of ISBD: " :" before details, " ;" before the size.
        signs = {"b": " :", "c": " ;"}
        following = [*(signs[code] for code, _ in subfields[1:]), ""]
        return [
            (code, value + sign) for (code, value), sign in zip(subfields, following, strict=True)
        ]

    def _notes(self) -> Iterator[tuple[str, str, Subfields]]:
        for value in self._placed("500"):
            yield "500", "  ", [("a", value)]
        unconfirmed = [one for one in self._entries if one.status is not Status.CONFIRMED]
        if unconfirmed:
            yield "500", "  ", [("a", self._mark(self._crosswalk.texts.unconfirmed, unconfirmed))]
        if self._crosswalk.texts.description:
            yield "500", "  ", [("a", self._crosswalk.texts.description)]

    def _access(self) -> Iterator[tuple[str, str, Subfields]]:
        restricted = [one for one in self._entries if one.access is Access.RESTRICTED]
        if restricted:
            # First indicator 1: restrictions apply.
            text = self._crosswalk.texts.restricted
            yield "506", "1 ", [("3", _name_all(restricted)), ("a", text), *self._institution()]
        if self._crosswalk.texts.terms_of_use:
            yield "540", "  ", [("a", self._crosswalk.texts.terms_of_use), *self._institution()]

    def _summary(self) -> str:
        pieces = count_pieces(self._volume.items()) if self._goes("quantity") else {}
        counted = [
            f"{count} {in_number(term, count)}"
            for term, count in sorted(pieces.items(), key=lambda one: (-one[1], one[0]))
        ]
        sentences = [f"Holds {'; '.join(counted)}." if counted else ""]
        below = [entry for entry in self._entries if entry is not self._volume.entry]
        if self._goes("attachment") and (said := count_terms(below, "attachment")):
            sentences.append(f"{self._crosswalk.labels['attachment']}: {said}.")
        blank = [entry for entry in below if entry.blank]
        if blank and self._goes("blank"):
            places = "; ".join(describe_place(entry.leaf, entry.side) for entry in blank)
            sentences.append(f"{self._crosswalk.labels['blank']}: {places}.")
        sentences.extend(f"{value}." for value in self._placed("520"))
        return " ".join(sentence for sentence in sentences if sentence) or "No items recorded."

    def _acquisition(self) -> Iterator[tuple[str, str, Subfields]]:
        facts, accession = self._facts, self._volume.key.accession
        subfields = [
            ("a", facts.source),
            ("c", facts.method),
            ("d", facts.date.replace("-", "")),
            ("e", accession or "" if self._goes("accession") else ""),
        ]
        known = [(code, value) for code, value in subfields if value]
        if known:
            yield "541", f"{NOT_PRIVATE} ", [*known, *self._institution()]
        if facts.custodial_history:
            history = [("a", facts.custodial_history), *self._institution()]
            yield "561", f"{NOT_PRIVATE} ", history

    def _genres(self) -> Iterator[tuple[str, str, Subfields]]:
        form = self._crosswalk.form
        if form.term:
            yield _genre(form.term, form.list, form.address)
        if not self._goes("item_type"):
            return
        vocabulary = self._consignment.vocabulary
        for term in dict.fromkeys(term for one in self._volume.items() for term in one.item_type):
            address = find_authority(vocabulary, TermField.ITEM_TYPE, term) or ""
            is_aat = address.startswith(AAT)
            yield _genre(term, "aat" if is_aat else "", address if is_aat else "")

    def _placed(self, place: str) -> Iterator[str]:
        """Yield what the crosswalk puts into a place, from the volume entry."""
        own = self._volume.entry
        if own is None:
            return
        siblings = {entry.id: entry for entry in self._entries}
        vocabulary = self._consignment.vocabulary
        for field in _PLACED:
            if self._crosswalk.place("marcxml", field) != place:
                continue
            if place in _NOTES:
                yield from say_labelled(
                    own,
                    field,
                    crosswalk=self._crosswalk,
                    siblings=siblings,
                    vocabulary=vocabulary,
                )
            else:
                yield from say_value(own, field, siblings=siblings, vocabulary=vocabulary)

    def _goes(self, field: str) -> bool:
        return self._crosswalk.place("marcxml", field) != NOWHERE

    def _institution(self) -> Subfields:
        return [("5", self._code)] if self._code else []

    def _years(self) -> tuple[str, str] | None:
        own = self._volume.entry
        if not self._goes("date"):
            return None
        return (read_date(own.date).years if own and own.date else None) or self._volume.years()

    def _say_years(self) -> str:
        own = self._volume.entry
        if own and own.date and self._goes("date"):
            return read_date(own.date).words
        years = self._years()
        return "" if years is None else years[0] if years[0] == years[1] else "-".join(years)

    def _mark(self, text: str, entries: list[Entry]) -> str:
        return f"{text} ({_name_all(entries)})"


def _name_all(entries: list[Entry]) -> str:
    if any(entry.leaf is None for entry in entries):
        rest = [entry for entry in entries if entry.leaf is not None]
        return "; ".join(part for part in ("volume", join_places(rest)) if part)
    return join_places(entries)


def _genre(term: str, list_: str, address: str) -> tuple[str, str, Any]:
    # Second indicator 7: the list is named in $2; 4: it is not.
    subfields = [("a", term), ("2", list_), ("0", address)]
    return "655", " 7" if list_ else " 4", [(code, value) for code, value in subfields if value]
