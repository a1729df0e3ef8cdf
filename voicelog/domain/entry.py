"""Entries: what the notes say about a volume, a leaf or an item.

The fields and their meaning are the project's interface contract (:mod:`.record_fields`);
:func:`format_entry_record` gives exactly that shape.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from voicelog.domain.note import Span


class Kind(StrEnum):
    """What an entry describes."""

    VOLUME = "volume"
    LEAF = "leaf"
    ITEM = "item"


class Side(StrEnum):
    """The front or the back of a leaf."""

    RECTO = "recto"
    VERSO = "verso"


class Status(StrEnum):
    """How far an entry has come."""

    HEARD = "heard"
    QUERIED = "queried"
    CONFIRMED = "confirmed"
    VOID = "void"


class Adhesion(StrEnum):
    """How firmly an item still holds."""

    SECURE = "secure"
    PARTLY_LOOSE = "partly loose"
    LOOSE = "loose"


class Access(StrEnum):
    """Whether an entry may leave the house without a special request."""

    OPEN = "open"
    RESTRICTED = "restricted"


class RelationKind(StrEnum):
    """How one item lies to another."""

    INSIDE = "inside"
    BEHIND = "behind"
    UNDER = "under"
    OVERLAPPING = "overlapping"
    ATTACHED_TO = "attached to"
    BELONGS_WITH = "belongs with"


@dataclass(frozen=True, slots=True, kw_only=True)
class Relation:
    """A tie from one entry to another, by the other's id."""

    kind: RelationKind
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """One reason why a person should look at an entry.

    Attributes:
        message: the reason in plain words.
        field: the field it is about, or None when it is about the whole entry.
    """

    message: str
    field: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """A reviewer's decision as the origin of a value."""

    by: str
    at: str
    was: Any


FROM_CONTEXT = "context"
"""Origin of a value that was not said in the entry's notes but carried over."""

Origin = tuple[Span, ...] | str | Review


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One row of the log.

    Sizes are in millimetres, height before width; dates are EDTF (ISO 8601-2).
    ``sources`` names the origin of every value: the spans of the notes that gave it,
    :data:`FROM_CONTEXT`, or a :class:`Review`.
    """

    id: str
    kind: Kind
    accession: str | None = None
    volume: str | None = None
    volume_name: str | None = None
    leaf: str | None = None
    side: Side | None = None
    item: int | None = None
    item_type: tuple[str, ...] = ()
    quantity: int = 1
    attachment: tuple[str, ...] = ()
    adhesion: Adhesion | None = None
    condition: tuple[str, ...] = ()
    action: tuple[str, ...] = ()
    enclosure: str | None = None
    caption: str | None = None
    date: str | None = None
    dimensions: tuple[float, float] | None = None
    position: str | None = None
    images: tuple[int, ...] = ()
    mark: str | None = None
    relations: tuple[Relation, ...] = ()
    blank: bool = False
    binding: str | None = None
    support: str | None = None
    overlay: str | None = None
    leaves: int | None = None
    cautions: tuple[str, ...] = ()
    remark: str | None = None
    status: Status = Status.HEARD
    confidence: float = 1.0
    doubts: tuple[Doubt, ...] = ()
    access: Access = Access.OPEN
    recorded_at: str | None = None
    handler: str | None = None
    notes: tuple[int, ...] = ()
    sources: Mapping[str, Origin] = field(default_factory=lambda: MappingProxyType({}))


RECORD_FIELDS: tuple[str, ...] = (
    "id",
    "entry",
    *(f.name for f in fields(Entry) if f.name not in {"id", "sources"}),
)
"""The keys of an entry record, in the order in which they are written everywhere."""


def format_entry_record(entry: Entry, *, number: int, provenance: bool = False) -> dict[str, Any]:
    """Return the entry as the JSON-ready record of the interface contract.

    Args:
        entry: the entry.
        number: its display order in the log, from 1.
        provenance: add ``sources``, the origin of every value.
    """
    record: dict[str, Any] = {"id": entry.id, "entry": number}
    for name in RECORD_FIELDS[2:]:
        record[name] = _format_value(getattr(entry, name))
    # One doubt may concern several fields; it is said once.
    record["doubts"] = list(dict.fromkeys(record["doubts"]))
    if provenance:
        record["sources"] = {name: _format_origin(origin) for name, origin in entry.sources.items()}
    return record


def _format_value(value: Any) -> Any:
    match value:
        case Doubt():
            return value.message
        case Relation():
            return {"kind": str(value.kind), "id": value.id}
        case StrEnum():
            return str(value)
        case tuple():
            return [_format_value(part) for part in value]
        case _:
            return value


def _format_origin(origin: Origin) -> Any:
    match origin:
        case Review():
            return {"by": origin.by, "at": origin.at, "was": origin.was}
        case str():
            return origin
        case _:
            return [
                {"note": span.note, "start": span.start_s, "end": span.end_s, "text": span.text}
                for span in origin
            ]
