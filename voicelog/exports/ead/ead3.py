"""EAD3: a finding aid with components down to the level that the crosswalk sets.

Encoded Archival Description, release 1.1.1 (Society of American Archivists, 2019).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import Level
from voicelog.exports.dates import Point, ReadDate
from voicelog.exports.ead.components import Component, Extent, Genre
from voicelog.exports.ead.finding_aid import FindingAid
from voicelog.exports.target import Unfinished

if TYPE_CHECKING:
    from lxml.etree import _Element as Element


def write_ead3(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one finding aid of everything; one volume at a time is in memory."""
    _Ead3(consignment).write(unfinished)


class _Ead3(FindingAid):
    format_name = "ead3"
    namespace = "http://ead3.archivists.org/schema/"
    described_together: ClassVar[dict[str, str]] = {"dsctype": "combined"}

    def add_header(self, root: Element) -> None:
        """Add what is said of the finding aid itself."""
        add, codes = self.build.add, self.consignment.crosswalk.repository
        control = add(root, "control", langencoding="iso639-2b", repositoryencoding="iso15511")
        add(control, "recordid", self.description.id)
        title = add(add(control, "filedesc"), "titlestmt")
        add(title, "titleproper", self.description.title)
        add(control, "maintenancestatus", value="derived")
        agency = add(control, "maintenanceagency")
        if codes.isil:
            add(agency, "agencycode", codes.isil)
        add(agency, "agencyname", self.description.agency)
        language = add(control, "languagedeclaration")
        add(language, "language", langcode=codes.language)
        add(language, "script", scriptcode="Latn")
        add(add(control, "conventiondeclaration"), "citation", codes.rules.upper())
        event = add(add(control, "maintenancehistory"), "maintenanceevent")
        add(event, "eventtype", value="derived")
        as_of = self.consignment.as_of
        add(event, "eventdatetime", as_of, standarddatetime=as_of)
        add(event, "agenttype", value="machine")
        add(event, "agent", "voicelog")

    def add_repository(self, did: Element) -> None:
        """Add who keeps it."""
        add = self.build.add
        add(add(add(did, "repository"), "corpname"), "part", self.description.agency)

    def add_container(self, did: Element, kind: str, number: str) -> None:
        """Add what a component is kept in."""
        self.build.add(did, "container", number, localtype=kind)

    def add_genre(self, access: Element, genre: Genre, source: str | None) -> None:
        """Add a controlled term, with the code of its list where it has one."""
        named = self.build.add(access, "genreform", identifier=genre.address, source=source)
        self.build.add(named, "part", genre.term)

    def add_extents(self, did: Element, part: Component) -> None:
        """Add how much a component is, with its facets and its size."""
        if not part.extents and not part.facets and not part.size:
            return
        # A size or facet needs something that it is the size or facet of.
        extents = part.extents or (Extent(quantity=1, unit=str(part.level)),)
        if part.level is Level.LEAF and (part.facets or part.size):
            extents = (Extent(quantity=1, unit="leaf"), *part.extents)
        parent = self.build.add(did, "physdescset") if len(extents) > 1 else did
        first = self.add_extent(parent, extents[0])
        for facet in part.facets:
            self.build.add(first, "physfacet", facet)
        if part.size:
            self.build.add(first, "dimensions", part.size, unit="mm")
        for extent in extents[1:]:
            self.add_extent(parent, extent)

    def add_extent(self, did: Element, extent: Extent) -> Element:
        """Add how much there is of something."""
        element = self.build.add(
            did,
            "physdescstructured",
            coverage="whole" if extent.is_whole else "part",
            physdescstructuredtype="carrier" if extent.is_carrier else "materialtype",
        )
        self.build.add(element, "quantity", str(extent.quantity))
        self.build.add(element, "unittype", extent.unit)
        return element

    def add_date(self, did: Element, date: ReadDate) -> None:
        """Add when something is from."""
        # The schema takes any token as a standard date; its Schematron rule takes only plain
        # ones. What is above EDTF level 0 is given by its bounds, in words, and as it is.
        add = self.build.add
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
        self.build.add(
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
