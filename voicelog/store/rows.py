"""Between values and rows: notes, entries and origins as the tables hold them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from voicelog.domain.entry import (
    Access,
    Adhesion,
    Doubt,
    Entry,
    Kind,
    Origin,
    Relation,
    RelationKind,
    Review,
    Side,
    Status,
)
from voicelog.domain.note import Note, Span, Word

Row = dict[str, Any]

ENTRY_FIELDS: tuple[str, ...] = tuple(
    field.name for field in fields(Entry) if field.name not in {"id", "sources"}
)
"""The fields of an entry that have a column of the same name."""


def format_json(value: Any) -> str:
    """Return a value as compact JSON text that stays readable in any database browser."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def note_to_row(note: Note, *, taken_at: str) -> Row:
    """Return the note's row in ``notes``; its words have rows of their own."""
    return {
        "number": note.number,
        "uid": note.uid,
        "text": note.text,
        "engine": note.engine,
        "model": note.model,
        "recording": note.recording,
        "start_s": note.start_s,
        "end_s": note.end_s,
        "recorded_at": note.recorded_at,
        "handler": note.handler,
        "taken_at": taken_at,
        "alternatives": format_json(note.alternatives),
    }


def words_to_rows(note: Note) -> list[Row]:
    """Return the rows in ``words`` of a note."""
    return [
        {
            "note": note.number,
            "rank": rank,
            "text": word.text,
            "start_s": word.start_s,
            "end_s": word.end_s,
            "confidence": word.confidence,
        }
        for rank, word in enumerate(note.words)
    ]


def row_to_note(row: Mapping[str, Any], words: Iterable[Mapping[str, Any]]) -> Note:
    """Return the note that a row and its words hold."""
    return Note(
        number=row["number"],
        uid=row["uid"],
        text=row["text"],
        engine=row["engine"],
        model=row["model"],
        recording=row["recording"],
        start_s=row["start_s"],
        end_s=row["end_s"],
        recorded_at=row["recorded_at"],
        handler=row["handler"],
        alternatives=tuple(json.loads(row["alternatives"])),
        words=tuple(
            Word(
                text=word["text"],
                start_s=word["start_s"],
                end_s=word["end_s"],
                confidence=word["confidence"],
            )
            for word in words
        ),
    )


def entry_to_row(entry: Entry) -> Row:
    """Return the entry's row in ``entries``, without its place in the display order."""
    row: Row = {"id": entry.id}
    for name in ENTRY_FIELDS:
        value = getattr(entry, name)
        match value:
            case tuple():
                row[name] = format_json([_plain(part) for part in value])
            case bool():
                row[name] = int(value)
            case _:
                row[name] = _plain(value)
    return row


def row_to_entry(row: Mapping[str, Any], sources: Mapping[str, Origin]) -> Entry:
    """Return the entry that a row and its origins hold."""
    dimensions = None if row["dimensions"] is None else json.loads(row["dimensions"])
    return Entry(
        id=row["id"],
        kind=Kind(row["kind"]),
        accession=row["accession"],
        volume=row["volume"],
        volume_name=row["volume_name"],
        leaf=row["leaf"],
        side=None if row["side"] is None else Side(row["side"]),
        item=row["item"],
        item_type=tuple(json.loads(row["item_type"])),
        quantity=row["quantity"],
        attachment=tuple(json.loads(row["attachment"])),
        adhesion=None if row["adhesion"] is None else Adhesion(row["adhesion"]),
        condition=tuple(json.loads(row["condition"])),
        action=tuple(json.loads(row["action"])),
        enclosure=row["enclosure"],
        caption=row["caption"],
        date=row["date"],
        dimensions=None if dimensions is None else (dimensions[0], dimensions[1]),
        position=row["position"],
        images=tuple(json.loads(row["images"])),
        mark=row["mark"],
        relations=tuple(
            Relation(kind=RelationKind(part["kind"]), id=part["id"])
            for part in json.loads(row["relations"])
        ),
        blank=bool(row["blank"]),
        binding=row["binding"],
        support=row["support"],
        overlay=row["overlay"],
        leaves=row["leaves"],
        cautions=tuple(json.loads(row["cautions"])),
        remark=row["remark"],
        status=Status(row["status"]),
        confidence=row["confidence"],
        doubts=tuple(Doubt(**part) for part in json.loads(row["doubts"])),
        access=Access(row["access"]),
        recorded_at=row["recorded_at"],
        handler=row["handler"],
        notes=tuple(json.loads(row["notes"])),
        sources=MappingProxyType(dict(sources)),
    )


def origins_to_rows(entry: Entry) -> list[Row]:
    """Return the rows in ``field_values``: each value that has an origin, and the origin."""
    return [
        {
            "entry": entry.id,
            "field": name,
            "value": format_json(plain_value(getattr(entry, name, None))),
            "origin": format_json(_plain_origin(origin)),
        }
        for name, origin in entry.sources.items()
    ]


def parse_origin(text: str) -> Origin:
    """Return the origin that ``field_values.origin`` holds."""
    value = json.loads(text)
    if isinstance(value, str):
        return value
    if isinstance(value, dict):
        return Review(by=value["by"], at=value["at"], was=value["was"])
    return tuple(Span(**part) for part in value)


def plain_value(value: Any) -> Any:
    """Return a field's value as JSON can hold it."""
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    return _plain(value)


def _plain(value: Any) -> Any:
    match value:
        case StrEnum():
            return str(value)
        case Doubt() | Relation():
            return {name: _plain(part) for name, part in asdict(value).items()}
        case _:
            return value


def _plain_origin(origin: Origin) -> Any:
    match origin:
        case str():
            return origin
        case Review():
            return {"by": origin.by, "at": origin.at, "was": plain_value(origin.was)}
        case _:
            return [asdict(span) for span in origin]
