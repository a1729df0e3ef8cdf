"""EAD 2002, for catalogues that don't take EAD3 yet.

Encoded Archival Description, version 2002, XML schema (Society of American Archivists and
Library of Congress, release of 12 April 2021).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import Level
from voicelog.exports.dates import ReadDate
from voicelog.exports.ead.components import Component, Extent, Genre
from voicelog.exports.ead.finding_aid import FindingAid
from voicelog.exports.target import Unfinished

if TYPE_CHECKING:
    from lxml.etree import _Element as Element


def write_ead2002(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one finding aid of everything; one volume at a time is in memory."""
    _Ead2002(consignment).write(unfinished)


class _Ead2002(FindingAid):
    format_name = "ead2002"
    namespace = "urn:isbn:1-931666-22-9"
    described_together: ClassVar[dict[str, str]] = {"type": "combined"}

    def add_header(self, root: Element) -> None:
        """Add what is said of the finding aid itself."""
        add, codes = self.build.add, self.consignment.crosswalk.repository
        header = add(root, "eadheader", langencoding="iso639-2b", dateencoding="iso8601")
        uid = self.description.id
        add(header, "eadid", uid, mainagencycode=codes.isil or None, identifier=uid)
        description = add(header, "filedesc")
        title = add(description, "titlestmt")
        add(title, "titleproper", self.description.title)
        add(add(description, "publicationstmt"), "publisher", self.description.agency)
        profile = add(header, "profiledesc")
        creation = add(profile, "creation", "Made with voicelog from the bench log of ")
        day = self.consignment.as_of[:10]
        add(creation, "date", day, normal=day)
        add(add(profile, "langusage"), "language", langcode=codes.language)
        add(profile, "descrules", codes.rules.upper())

    def add_repository(self, did: Element) -> None:
        """Add who keeps it."""
        self.build.add(self.build.add(did, "repository"), "corpname", self.description.agency)

    def add_container(self, did: Element, kind: str, number: str) -> None:
        """Add what a component is kept in."""
        # The type of a container is one word (NMTOKEN) here.
        self.build.add(did, "container", number, type=kind.replace(" ", "-"))

    def add_genre(self, access: Element, genre: Genre, source: str | None) -> None:
        """Add a controlled term, with the code of its list where it has one."""
        self.build.add(access, "genreform", genre.term, authfilenumber=genre.address, source=source)

    def add_extent(self, did: Element, extent: Extent) -> None:
        """Add how much there is of something."""
        self.build.add(self.build.add(did, "physdesc"), "extent", _say(extent))

    def add_extents(self, did: Element, part: Component) -> None:
        """Add how much a component is, with its facets and its size."""
        add = self.build.add
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
            self.add_extent(did, extent)

    def add_date(self, did: Element, date: ReadDate) -> None:
        """Add when something is from."""
        # @normal takes level 0 dates and ranges only: what is above is given by its bounds
        # where it has both, in words, and as it is in a note.
        certainty = date.certainty.split()[0] if date.certainty else None
        self.build.add(
            did,
            "unitdate",
            date.words,
            normal=_normal(date),
            type="inclusive" if date.is_range else None,
            certainty=certainty,
        )
        if not date.is_plain:
            note = self.build.add(did, "note", type="edtf", label="Date (EDTF)")
            self.build.add(note, "p", date.edtf)


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
