"""CSV on the Web: the table, and beside it a description of its columns for programs.

Metadata Vocabulary for Tabular Data (W3C Recommendation, 17 December 2015). The description
has the name that a reader looks for beside a table: its name with ``-metadata.json`` behind.
"""

from __future__ import annotations

import json
from typing import Any

from voicelog.domain.entry import Access, Adhesion, Kind, Side, Status
from voicelog.domain.record_fields import RECORD
from voicelog.exports.consignment import Consignment
from voicelog.exports.tables.csv_table import write_csv
from voicelog.exports.tables.rows import COLUMNS, LIST_JOINT, LISTS, RELATIONS
from voicelog.exports.target import Unfinished

METADATA_SUFFIX = "-metadata.json"
_REQUIRED = frozenset({"id", "entry", "kind", "quantity", "blank", "status", "confidence"})
_CLOSED = {
    "kind": Kind,
    "side": Side,
    "adhesion": Adhesion,
    "status": Status,
    "access": Access,
}
_WHOLE_NUMBERS = frozenset({"entry", "item", "quantity", "leaves", "images", "notes", "version"})
_DESCRIPTIONS = {
    **{field.name: field.meaning for field in RECORD},
    "caption": "what is written on or about it, word for word; "
    "an apostrophe before what a spreadsheet would take for a formula",
    "version": "grows with every change of the entry; leave it alone",
}


def write_csvw(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write the table, and its description beside it."""
    write_csv(consignment, unfinished)
    metadata = _describe(consignment, unfinished.name)
    with unfinished.beside(METADATA_SUFFIX).open("x", encoding="utf-8") as stream:
        json.dump(metadata, stream, ensure_ascii=False, indent=2)
        stream.write("\n")


def _describe(consignment: Consignment, name: str) -> dict[str, Any]:
    rules = consignment.selection.rules
    description: dict[str, Any] = {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": "en"}],
        # A name relative to the description; a space in it would be no URL.
        "url": _as_url(name),
        "dc:title": "Entries of a leaf-by-leaf log",
        "dc:modified": {"@value": consignment.as_of, "@type": "xsd:dateTime"},
        "dc:description": (
            f"{'Confirmed and unconfirmed' if rules.include_unconfirmed else 'Confirmed'} "
            f"entries, {'restricted ones too' if rules.include_restricted else 'open ones only'}"
        ),
        "dialect": {"encoding": "utf-8", "header": True, "delimiter": ",", "doubleQuote": True},
        "tableSchema": {
            "columns": [_describe_column(column) for column in COLUMNS],
            "primaryKey": "id",
        },
    }
    if consignment.repository:
        description["dc:publisher"] = consignment.repository
    return description


def _describe_column(name: str) -> dict[str, Any]:
    column: dict[str, Any] = {"name": name, "titles": name, "datatype": _datatype(name)}
    if name in LISTS:
        column["separator"] = LIST_JOINT
    if name in _REQUIRED:
        column["required"] = True
    if name in _DESCRIPTIONS:
        column["dc:description"] = _DESCRIPTIONS[name]
    return column


def _datatype(name: str) -> Any:
    if name in _CLOSED:
        return {"base": "string", "format": "|".join(_CLOSED[name])}
    if name in _WHOLE_NUMBERS:
        return {"base": "integer", "minimum": 0}
    match name:
        case "confidence":
            return {"base": "number", "minimum": 0, "maximum": 1}
        case "dimensions":
            return {"base": "number", "minimum": 0}
        case "blank":
            return {"base": "boolean", "format": "true|false"}
        case "recorded_at":
            return "dateTimeStamp"
        case _ if name == RELATIONS:
            return "json"
    return "string"


def _as_url(name: str) -> str:
    # Loaded late: only this needs it, and it is quick but not free.
    from urllib.parse import quote  # noqa: PLC0415

    return quote(name)
