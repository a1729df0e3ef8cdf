"""Between values and rows: notes, entries and origins as the tables hold them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import fields
from types import MappingProxyType
from typing import Any

from voicelog.domain.entry import Entry, Origin
from voicelog.domain.note import Note, Word
from voicelog.domain.plain_values import (
    parse_plain,
    parse_plain_origin,
    plain_origin,
    plain_value,
)

Row = dict[str, Any]

ENTRY_FIELDS: tuple[str, ...] = tuple(
    field.name for field in fields(Entry) if field.name not in {"id", "sources"}
)
"""The fields of an entry that have a column of the same name."""

_JSON_FIELDS = frozenset(
    {
        "item_type", "attachment", "condition", "action", "dimensions", "images", "relations",
        "cautions", "doubts", "notes",
    }
)  # fmt: skip


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
        "about": note.about,
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
        about=row["about"],
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
        value = plain_value(getattr(entry, name))
        match value:
            case list():
                row[name] = format_json(value)
            case bool():
                row[name] = int(value)
            case _:
                row[name] = value
    return row


def row_to_entry(row: Mapping[str, Any], sources: Mapping[str, Origin]) -> Entry:
    """Return the entry that a row and its origins hold."""
    values = {
        name: parse_plain(name, json.loads(row[name]) if name in _JSON_FIELDS else row[name])
        for name in ENTRY_FIELDS
        if row[name] is not None
    }
    return Entry(id=row["id"], sources=MappingProxyType(dict(sources)), **values)


def origins_to_rows(entry: Entry) -> list[Row]:
    """Return the rows in ``field_values``: each value that has an origin, and the origin."""
    return [
        {
            "entry": entry.id,
            "field": name,
            "value": format_json(plain_value(getattr(entry, name, None))),
            "origin": format_json(plain_origin(origin)),
        }
        for name, origin in entry.sources.items()
    ]


def parse_origin(text: str) -> Origin:
    """Return the origin that ``field_values.origin`` holds."""
    return parse_plain_origin(json.loads(text))
