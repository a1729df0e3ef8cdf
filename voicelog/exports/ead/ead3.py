"""EAD3: a finding aid with components down to the level that the crosswalk sets.

Encoded Archival Description, release 1.1.1 (Society of American Archivists, 2019).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import Level
from voicelog.exports.dates import Point, ReadDate
from voicelog.exports.ead.description import AccessionPart, Component, Extent, describe
from voicelog.exports.target import Unfinished
from voicelog.exports.wording import AAT
from voicelog.exports.xml_text import Builder, write_document

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

NAMESPACE = "http://ead3.archivists.org/schema/"


def write_ead3(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one finding aid of everything."""
    write_document(unfinished.path, _FindingAid(consignment).make())


class _FindingAid:
    def __init__(self, consignment: Consignment) -> None:
        self._as_of = consignment.as_of
        self._crosswalk = consignment.crosswalk
        self._build = Builder(NAMESPACE)
        self._description = describe(consignment, "ead3")

    def make(self) -> Element:
        root = self._build.root("ead")
        self._add_control(root)
        accessions = self._description.accessions
        if len(accessions) == 1:
            self._add_accession(root, accessions[0], "archdesc")
        else:
            self._add_several(root, accessions)
        return root

    def _add_control(self, root: Element) -> None:
        add, codes = self._build.add, self._crosswalk.repository
        control = add(root, "control", langencoding="iso639-2b", repositoryencoding="iso15511")
        add(control, "recordid", self._description.id)
        title = add(add(control, "filedesc"), "titlestmt")
        add(title, "titleproper", self._description.title)
        add(control, "maintenancestatus", value="derived")
        agency = add(control, "maintenanceagency")
        if codes.isil:
            add(agency, "agencycode", codes.isil)
        add(agency, "agencyname", self._description.agency)
        language = add(control, "languagedeclaration")
        add(language, "language", langcode=codes.language)
        add(language, "script", scriptcode="Latn")
        add(add(control, "conventiondeclaration"), "citation", codes.rules.upper())
        event = add(add(control, "maintenancehistory"), "maintenanceevent")
        add(event, "eventtype", value="derived")
        as_of = self._as_of
        add(event, "eventdatetime", as_of, standarddatetime=as_of)
        add(event, "agenttype", value="machine")
        add(event, "agent", "voicelog")

    def _add_several(self, root: Element, accessions: tuple[AccessionPart, ...]) -> None:
        add = self._build.add
        archdesc = add(root, "archdesc", level="otherlevel", otherlevel="accessions")
        did = add(archdesc, "did")
        self._add_repository(did)
        count = len(accessions)
        add(did, "unittitle", f"{count} accessions" if count else "No entries")
        if accessions:
            dsc = add(archdesc, "dsc", dsctype="combined")
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
        self._add_extent(did, accession.extent)
        for note, text in accession.notes:
            add(add(element, note), "p", text)
        inside = add(element, "dsc", dsctype="combined") if tag == "archdesc" else element
        for volume in accession.volumes:
            self._add_component(inside, volume)

    def _add_component(self, parent: Element, part: Component) -> None:
        add = self._build.add
        level = {Level.VOLUME: "file", Level.LEAF: "otherlevel", Level.ITEM: "item"}[part.level]
        other = str(part.level) if level == "otherlevel" else None
        element = add(parent, "c", level=level, otherlevel=other, id=part.id)
        did = add(element, "did")
        for kind, number in part.enclosures:
            add(did, "container", number or kind, localtype=kind)
        add(did, "unitid", part.unitid)
        add(did, "unittitle", part.title)
        if part.date:
            self._add_date(did, part.date)
        self._add_extents(did, part)
        if part.genres:
            access = add(element, "controlaccess")
            for genre in part.genres:
                is_aat = bool(genre.address and genre.address.startswith(AAT))
                named = add(
                    access,
                    "genreform",
                    identifier=genre.address,
                    source="aat" if is_aat else None,
                )
                add(named, "part", genre.term)
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
        add = self._build.add
        add(add(add(did, "repository"), "corpname"), "part", self._description.agency)

    def _add_extents(self, did: Element, part: Component) -> None:
        if not part.extents and not part.facets and not part.size:
            return
        # A size or facet needs something that it is the size or facet of.
        extents = part.extents or (Extent(quantity=1, unit=str(part.level)),)
        if part.level is Level.LEAF and (part.facets or part.size):
            extents = (Extent(quantity=1, unit="leaf"), *part.extents)
        parent = self._build.add(did, "physdescset") if len(extents) > 1 else did
        first = self._add_extent(parent, extents[0])
        for facet in part.facets:
            self._build.add(first, "physfacet", facet)
        if part.size:
            self._build.add(first, "dimensions", part.size, unit="mm")
        for extent in extents[1:]:
            self._add_extent(parent, extent)

    def _add_extent(self, parent: Element, extent: Extent) -> Element:
        element = self._build.add(
            parent,
            "physdescstructured",
            coverage="whole" if extent.is_whole else "part",
            physdescstructuredtype="carrier" if extent.is_carrier else "materialtype",
        )
        self._build.add(element, "quantity", str(extent.quantity))
        self._build.add(element, "unittype", extent.unit)
        return element

    def _add_date(self, did: Element, date: ReadDate) -> None:
        # The schema takes any token as a standard date; its Schematron rule takes only plain
        # ones. What is above EDTF level 0 is given by its bounds, in words, and as it is.
        add = self._build.add
        structured = add(
            did, "unitdatestructured", unitdatetype="inclusive", certainty=_certainty(date)
        )
        if date.is_range:
            range_ = add(structured, "daterange")
            self._add_point(range_, "fromdate", date.begin, "open")
            self._add_point(range_, "todate", date.end, "open")
        else:
            self._add_point(structured, "datesingle", date.begin, date.words)
        if not date.is_plain:
            add(did, "didnote", date.edtf, localtype="edtf", label="Date (EDTF)")

    def _add_point(self, parent: Element, tag: str, point: Point | None, words: str) -> None:
        is_exact = point is not None and point.exact is not None
        self._build.add(
            parent,
            tag,
            point.words if point else words,
            standarddate=point.exact if point else None,
            notbefore=point.earliest if point and not is_exact else None,
            notafter=point.latest if point and not is_exact else None,
        )


def _certainty(date: ReadDate) -> str | None:
    # The attribute is one word (NMTOKEN).
    return date.certainty.split()[0] if date.certainty else None
