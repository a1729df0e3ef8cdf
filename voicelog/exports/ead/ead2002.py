"""EAD 2002, for catalogues that don't take EAD3 yet.

Encoded Archival Description, version 2002, XML schema (Society of American Archivists and
Library of Congress, release of 12 April 2021).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import Level
from voicelog.exports.dates import ReadDate
from voicelog.exports.ead.description import AccessionPart, Component, Extent, describe
from voicelog.exports.target import Unfinished
from voicelog.exports.wording import AAT
from voicelog.exports.xml_text import Builder, write_document

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

NAMESPACE = "urn:isbn:1-931666-22-9"


def write_ead2002(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one finding aid of everything."""
    write_document(unfinished.path, _FindingAid(consignment).make())


class _FindingAid:
    def __init__(self, consignment: Consignment) -> None:
        self._as_of = consignment.as_of
        self._crosswalk = consignment.crosswalk
        self._build = Builder(NAMESPACE)
        self._description = describe(consignment, "ead2002")

    def make(self) -> Element:
        root = self._build.root("ead")
        self._add_header(root)
        accessions = self._description.accessions
        if len(accessions) == 1:
            self._add_accession(root, accessions[0], "archdesc")
        else:
            self._add_several(root, accessions)
        return root

    def _add_header(self, root: Element) -> None:
        add, codes = self._build.add, self._crosswalk.repository
        header = add(root, "eadheader", langencoding="iso639-2b", dateencoding="iso8601")
        uid = self._description.id
        add(header, "eadid", uid, mainagencycode=codes.isil or None, identifier=uid)
        description = add(header, "filedesc")
        title = add(description, "titlestmt")
        add(title, "titleproper", self._description.title)
        add(add(description, "publicationstmt"), "publisher", self._description.agency)
        profile = add(header, "profiledesc")
        creation = add(profile, "creation", "Made with voicelog from the bench log of ")
        day = self._as_of[:10]
        add(creation, "date", day, normal=day)
        add(add(profile, "langusage"), "language", langcode=codes.language)
        add(profile, "descrules", codes.rules.upper())

    def _add_several(self, root: Element, accessions: tuple[AccessionPart, ...]) -> None:
        add = self._build.add
        archdesc = add(root, "archdesc", level="otherlevel", otherlevel="accessions")
        did = add(archdesc, "did")
        self._add_repository(did)
        count = len(accessions)
        add(did, "unittitle", f"{count} accessions" if count else "No entries")
        if accessions:
            dsc = add(archdesc, "dsc", type="combined")
            for accession in accessions:
                self._add_accession(dsc, accession, "c")

    def _add_accession(self, parent: Element, accession: AccessionPart, tag: str) -> None:
        add = self._build.add
        element = add(parent, tag, level="collection")
        did = add(element, "did")
        self._add_repository(did)
        if accession.number:
            add(did, "unitid", accession.number, label="Accession")
        add(did, "unittitle", accession.title)
        if accession.years:
            self._add_date(did, accession.years)
        add(add(did, "physdesc"), "extent", _say(accession.extent))
        for note, text in accession.notes:
            add(add(element, note), "p", text)
        inside = add(element, "dsc", type="combined") if tag == "archdesc" else element
        for volume in accession.volumes:
            self._add_component(inside, volume)

    def _add_component(self, parent: Element, part: Component) -> None:
        add = self._build.add
        level = {Level.VOLUME: "file", Level.LEAF: "otherlevel", Level.ITEM: "item"}[part.level]
        other = str(part.level) if level == "otherlevel" else None
        element = add(parent, "c", level=level, otherlevel=other, id=part.id)
        did = add(element, "did")
        for kind, number in part.enclosures:
            # The type of a container is one word (NMTOKEN) here.
            add(did, "container", number or kind, type=kind.replace(" ", "-"))
        add(did, "unitid", part.unitid)
        add(did, "unittitle", part.title)
        if part.date:
            self._add_date(did, part.date)
        self._add_extents(did, part)
        if part.genres:
            access = add(element, "controlaccess")
            for genre in part.genres:
                is_aat = bool(genre.address and genre.address.startswith(AAT))
                add(
                    access,
                    "genreform",
                    genre.term,
                    authfilenumber=genre.address,
                    source="aat" if is_aat else None,
                )
        if part.restricted:
            note = add(element, "accessrestrict")
            add(note, "p", f"{self._crosswalk.texts.restricted} ({part.restricted})")
        for tag, paragraphs in part.notes.items():
            note = add(element, tag)
            for paragraph in paragraphs:
                add(note, "p", paragraph)
        for inner in part.parts:
            self._add_component(element, inner)

    def _add_repository(self, did: Element) -> None:
        self._build.add(self._build.add(did, "repository"), "corpname", self._description.agency)

    def _add_extents(self, did: Element, part: Component) -> None:
        add = self._build.add
        own = part.extents[:1] if part.level is not Level.LEAF else ()
        if own or part.facets or part.size:
            physdesc = add(did, "physdesc")
            for extent in own:
                add(physdesc, "extent", _say(extent))
            for facet in part.facets:
                add(physdesc, "physfacet", facet)
            if part.size:
                add(physdesc, "dimensions", part.size, unit="mm")
        for extent in part.extents[len(own) :]:
            add(add(did, "physdesc"), "extent", _say(extent))

    def _add_date(self, did: Element, date: ReadDate) -> None:
        # @normal takes level 0 dates and ranges only: what is above is given by its bounds
        # where it has both, in words, and as it is in a note.
        certainty = date.certainty.split()[0] if date.certainty else None
        self._build.add(
            did,
            "unitdate",
            date.words,
            normal=_normal(date),
            type="inclusive" if date.is_range else None,
            certainty=certainty,
        )
        if not date.is_plain:
            note = self._build.add(did, "note", type="edtf", label="Date (EDTF)")
            self._build.add(note, "p", date.edtf)


def _say(extent: Extent) -> str:
    return f"{extent.quantity} {extent.unit}"


def _normal(date: ReadDate) -> str | None:
    if date.is_plain:
        return date.edtf
    end = date.end if date.is_range else date.begin
    earliest, latest = date.begin and date.begin.earliest, end and end.latest
    if not earliest or not latest:
        return None
    return earliest if earliest == latest else f"{earliest}/{latest}"
