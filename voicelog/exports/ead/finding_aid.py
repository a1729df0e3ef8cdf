"""What EAD3 and EAD 2002 share: a finding aid as a frame, and the volumes inside it.

The frame is a small document with a placeholder for the volumes of each accession; volumes are
written where it stands, one in memory at a time.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import TYPE_CHECKING, ClassVar

from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import Level
from voicelog.exports.dates import ReadDate
from voicelog.exports.ead.components import AccessionPart, Component, Extent, Genre
from voicelog.exports.ead.description import describe, describe_volumes
from voicelog.exports.target import Unfinished
from voicelog.exports.wording import AAT
from voicelog.exports.xml_text import Builder, write_in_parts

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_LEVELS = {Level.VOLUME: "file", Level.LEAF: "otherlevel", Level.ITEM: "item"}


class FindingAid(ABC):
    """One finding aid of everything; the releases of the standard say how its parts look."""

    format_name: ClassVar[str]
    namespace: ClassVar[str]
    described_together: ClassVar[dict[str, str]]
    """The attribute of ``dsc`` for a description of both the whole and its parts."""

    def __init__(self, consignment: Consignment) -> None:
        self.consignment = consignment
        self.build = Builder(self.namespace)
        self.description = describe(consignment)

    def write(self, unfinished: Unfinished) -> None:
        """Write it, one volume in memory at a time."""
        volumes = describe_volumes(self.consignment, self.format_name, self.description)
        parts = (map(self._make_component, its) for its in volumes)
        write_in_parts(unfinished.path, self._make_frame(), parts)

    @abstractmethod
    def add_header(self, root: Element) -> None:
        """Add what is said of the finding aid itself."""

    @abstractmethod
    def add_repository(self, did: Element) -> None:
        """Add who keeps it."""

    @abstractmethod
    def add_date(self, did: Element, date: ReadDate) -> None:
        """Add when something is from."""

    @abstractmethod
    def add_extent(self, did: Element, extent: Extent) -> object:
        """Add how much there is of something."""

    @abstractmethod
    def add_extents(self, did: Element, part: Component) -> None:
        """Add how much a component is, with its facets and its size."""

    @abstractmethod
    def add_container(self, did: Element, kind: str, number: str) -> None:
        """Add what a component is kept in."""

    @abstractmethod
    def add_genre(self, access: Element, genre: Genre, source: str | None) -> None:
        """Add a controlled term, with the code of its list where it has one."""

    def _make_frame(self) -> Element:
        root = self.build.root("ead")
        self.add_header(root)
        accessions = self.description.accessions
        if len(accessions) == 1:
            self._add_accession(root, accessions[0], "archdesc")
        else:
            self._add_several(root, accessions)
        return root

    def _add_several(self, root: Element, accessions: tuple[AccessionPart, ...]) -> None:
        add = self.build.add
        archdesc = add(root, "archdesc", level="otherlevel", otherlevel="accessions")
        did = add(archdesc, "did")
        self.add_repository(did)
        count = len(accessions)
        add(did, "unittitle", f"{count} accessions" if count else "No entries")
        if accessions:
            dsc = add(archdesc, "dsc", **self.described_together)
            for accession in accessions:
                self._add_accession(dsc, accession, "c")

    def _add_accession(self, parent: Element, accession: AccessionPart, tag: str) -> None:
        add = self.build.add
        element = add(parent, tag, level="collection")
        did = add(element, "did")
        self.add_repository(did)
        if accession.number:
            add(did, "unitid", accession.number, label="Accession")
        add(did, "unittitle", accession.title)
        if accession.years:
            self.add_date(did, accession.years)
        self.add_extent(did, accession.extent)
        for note, text in accession.notes:
            add(add(element, note), "p", text)
        is_whole = tag == "archdesc"
        inside = add(element, "dsc", **self.described_together) if is_whole else element
        self.build.add_placeholder(inside)

    def _make_component(self, part: Component) -> Element:
        element = self.build.root("c", **_attributes(part))
        self._fill_component(element, part)
        return element

    def _fill_component(self, element: Element, part: Component) -> None:
        add = self.build.add
        did = add(element, "did")
        for kind, number in part.enclosures:
            self.add_container(did, kind, number or kind)
        add(did, "unitid", part.unitid)
        add(did, "unittitle", part.title)
        if part.date:
            self.add_date(did, part.date)
        self.add_extents(did, part)
        if part.genres:
            access = add(element, "controlaccess")
            for genre in part.genres:
                is_aat = bool(genre.address and genre.address.startswith(AAT))
                self.add_genre(access, genre, "aat" if is_aat else None)
        if part.restricted:
            note = add(element, "accessrestrict")
            restricted = self.consignment.crosswalk.texts.restricted
            add(note, "p", f"{restricted} ({part.restricted})")
        for tag, paragraphs in part.notes.items():
            note = add(element, tag)
            for paragraph in paragraphs:
                add(note, "p", paragraph)
        for inner in part.parts:
            self._fill_component(add(element, "c", **_attributes(inner)), inner)


def _attributes(part: Component) -> dict[str, str | None]:
    level = _LEVELS[part.level]
    other = str(part.level) if level == "otherlevel" else None
    return {"level": level, "otherlevel": other, "id": part.id}
