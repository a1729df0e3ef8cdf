"""Field values as plain data, as JSON can hold them, and back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from voicelog.domain.entry import (
    Access,
    Adhesion,
    Doubt,
    Kind,
    Origin,
    Relation,
    RelationKind,
    Review,
    Side,
    Status,
)
from voicelog.domain.note import Span


def plain_value(value: Any) -> Any:
    """Return a field's value as JSON can hold it.

    >>> plain_value((Relation(kind=RelationKind.BEHIND, id="e-2"),))
    [{'kind': 'behind', 'id': 'e-2'}]
    """
    match value:
        case StrEnum():
            return str(value)
        case tuple():
            return [plain_value(part) for part in value]
        case Doubt() | Relation():
            return {name: plain_value(part) for name, part in asdict(value).items()}
        case _:
            return value


def parse_plain(field: str, plain: Any) -> Any:
    """Return the value of an entry's field that plain data stands for.

    >>> parse_plain("side", "recto"), parse_plain("dimensions", [108.0, 152.4])
    (<Side.RECTO: 'recto'>, (108.0, 152.4))
    """
    if plain is None:
        return None
    if field in _PARSERS:
        return _PARSERS[field](plain)
    return tuple(plain) if isinstance(plain, list) else plain


def plain_origin(origin: Origin) -> Any:
    """Return the origin of a value as JSON can hold it."""
    match origin:
        case str():
            return origin
        case Review():
            return {"by": origin.by, "at": origin.at, "was": plain_value(origin.was)}
        case _:
            return [asdict(span) for span in origin]


def parse_plain_origin(plain: Any) -> Origin:
    """Return the origin that plain data stands for."""
    if isinstance(plain, str):
        return plain
    if isinstance(plain, dict):
        return Review(by=plain["by"], at=plain["at"], was=plain["was"])
    return tuple(Span(**part) for part in plain)


_PARSERS: Mapping[str, Callable[[Any], Any]] = MappingProxyType(
    {
        "kind": Kind,
        "side": Side,
        "adhesion": Adhesion,
        "status": Status,
        "access": Access,
        "blank": bool,
        "relations": lambda parts: tuple(
            Relation(kind=RelationKind(part["kind"]), id=part["id"]) for part in parts
        ),
        "doubts": lambda parts: tuple(Doubt(**part) for part in parts),
    }
)
