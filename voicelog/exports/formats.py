"""The formats that entries can leave in: what each is, and the function that writes it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from voicelog.domain.entry import Kind
from voicelog.errors import UsageError
from voicelog.exports.consignment import Consignment
from voicelog.exports.target import Shape, Unfinished

Writer = Callable[[Consignment, Unfinished], None]
"""Writes a consignment to ``unfinished.path``, and to what else it asks to have beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A format, known without loading what writes it.

    Attributes:
        name: as the command line has it.
        summary: what it is and for whom, in a few words.
        shape: whether it becomes a file or a folder.
        file_ending: the ending of a path that makes it one file all the same; "" for none.
        whole_volumes: whether a volume is one record in it, so that one changed entry takes
            all of its volume along.
        takes_audio: whether recordings can go along in it.
        holds_the_log: whether the whole log is in it, whatever is left out of its exports.
        takes_scans: whether it names the images of sides.
        kinds: the kinds of entries that it has records for.
        schema: the published schema that a file must meet before it leaves, or "".
        write: what writes a format of a plug-in; ours are loaded by :func:`load_writer`.
    """

    name: str
    summary: str
    shape: Shape = Shape.FILE
    file_ending: str = ""
    whole_volumes: bool = False
    takes_audio: bool = False
    holds_the_log: bool = False
    takes_scans: bool = False
    kinds: frozenset[Kind] = frozenset(Kind)
    schema: str = ""
    write: Writer | None = None

    def shape_at(self, path: Path) -> Shape:
        """Return what an export to this path becomes."""
        is_file = bool(self.file_ending) and path.name.lower().endswith(self.file_ending)
        return Shape.FILE if is_file else self.shape


_ITEMS = frozenset({Kind.ITEM})

FORMATS: tuple[Format, ...] = (
    Format(name="csv", summary="a table for spreadsheets, one row for each entry"),
    Format(name="csvw", summary="the same table, with a description of its columns beside it"),
    Format(name="xlsx", summary="the same table as a workbook"),
    Format(name="jsonl", summary="JSON Lines for programs, one entry record on each line"),
    Format(name="ead3", summary="a finding aid in EAD3", whole_volumes=True, schema="ead3.xsd"),
    Format(name="ead2002", summary="a finding aid in EAD 2002", whole_volumes=True),
    Format(
        name="marcxml",
        summary="MARC 21 in XML, one record for each volume",
        whole_volumes=True,
        schema="MARC21slim.xsd",
    ),
    Format(
        name="mods",
        summary="MODS 3.8, one record for each item",
        kinds=_ITEMS,
        schema="mods-3-8.xsd",
    ),
    Format(
        name="dc",
        summary="a folder of Dublin Core, one file for each item",
        shape=Shape.FOLDER,
        kinds=_ITEMS,
    ),
    Format(
        name="iiif",
        summary="IIIF manifests for image viewers, a folder; PATH.json for a single volume",
        shape=Shape.FOLDER,
        file_ending=".json",
        whole_volumes=True,
        takes_scans=True,
    ),
    Format(
        name="bag",
        summary="a BagIt bag of the whole log, a folder or PATH.zip",
        shape=Shape.FOLDER,
        file_ending=".zip",
        takes_audio=True,
        holds_the_log=True,
    ),
)


def choose_format(name: str, formats: Iterable[Format] = FORMATS) -> Format:
    """Return the format of this name.

    Raises:
        UsageError: there is none.
    """
    known = {each.name: each for each in formats}
    if name in known:
        return known[name]
    names = ", ".join(known)
    raise UsageError(f"{name!r} is no format; choose one of {names}.")


def load_writer(format_: Format) -> Writer:
    """Return the function that writes a format, importing what it needs only now."""
    return format_.write or _load_ours(format_)


def _load_ours(format_: Format) -> Writer:
    match format_.name:
        case "csv":
            from voicelog.exports.tables.csv_table import write_csv

            return write_csv
        case "csvw":
            from voicelog.exports.tables.csvw import write_csvw

            return write_csvw
        case "xlsx":
            from voicelog.exports.tables.workbook import write_workbook

            return write_workbook
        case "jsonl":
            from voicelog.exports.json_lines import write_json_lines

            return write_json_lines
        case "iiif":
            from voicelog.exports.iiif.writing import write_manifests

            return write_manifests
        case "bag":
            from voicelog.exports.bag.packing import write_bag

            return write_bag
        case "ead3":
            from voicelog.exports.ead.ead3 import write_ead3

            return write_ead3
        case "ead2002":
            from voicelog.exports.ead.ead2002 import write_ead2002

            return write_ead2002
        case "marcxml":
            from voicelog.exports.marc.records import write_marcxml

            return write_marcxml
        case "mods":
            from voicelog.exports.mods import write_mods

            return write_mods
        case "dc":
            from voicelog.exports.dublin_core import write_dublin_core

            return write_dublin_core
    raise LookupError(f"The format {format_.name!r} has no writer.")
