"""Between acts of review and the rows that hold them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from voicelog.domain.act import Act, ActKind, Decision
from voicelog.domain.entry import Entry
from voicelog.domain.plain_values import (
    parse_plain,
    parse_plain_origin,
    plain_origin,
    plain_value,
)
from voicelog.store.rows import ENTRY_FIELDS, Row, format_json


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One entry as an act changes it.

    Attributes:
        decision: what the act decided about it.
        before: the entry as it was; None where the act makes it.
        after: the entry as it is from now on.
    """

    decision: Decision
    before: Entry | None
    after: Entry


def act_to_row(act: Act, *, after_note: int) -> Row:
    """Return the act's row in ``acts``; what it decided has rows of its own."""
    return {
        "kind": str(act.kind),
        "by": act.by,
        "at": act.at,
        "session": act.session,
        "after_note": after_note,
        "undoes": act.undoes,
        "details": format_json(dict(act.details)),
    }


def change_to_row(change: Change, *, act: int, rank: int, version: int) -> Row:
    """Return the row in ``decisions`` of one entry that an act changed.

    Args:
        change: the change.
        act: the act's number.
        rank: which of the act's changes it is, from 0.
        version: the version of the entry that the act has left.
    """
    decision = change.decision
    return {
        "act": act,
        "rank": rank,
        "entry": decision.entry,
        "decided": format_json(
            {name: plain_value(value) for name, value in decision.values.items()}
        ),
        "adds": format_json(plain_value(decision.adds)),
        "made": None if decision.made is None else format_json(plain_entry(decision.made)),
        "before": format_json({} if change.before is None else _difference(change)),
        "version": version,
    }


def row_to_act(row: Mapping[str, Any], decisions: Iterable[Mapping[str, Any]]) -> Act:
    """Return the act that a row and the rows of its decisions hold."""
    return Act(
        number=row["number"],
        kind=ActKind(row["kind"]),
        by=row["by"],
        at=row["at"],
        session=row["session"],
        after_note=row["after_note"],
        undoes=row["undoes"],
        details=MappingProxyType(json.loads(row["details"])),
        decisions=tuple(_row_to_decision(one) for one in decisions),
    )


def put_back(entry: Entry, before: str) -> Entry:
    """Return an entry as it was before an act, exactly.

    Args:
        entry: the entry as the act left it.
        before: what ``decisions.before`` holds.
    """
    plain = json.loads(before)
    values: dict[str, Any] = {}
    sources = dict(entry.sources)
    for name, value in plain.get("values", {}).items():
        values[name] = parse_plain(name, value)
    for name, origin in plain.get("sources", {}).items():
        if origin is None:
            sources.pop(name, None)
        else:
            sources[name] = parse_plain_origin(origin)
    return replace(entry, **values, sources=MappingProxyType(sources))


def _difference(change: Change) -> Row:
    """Return the fields and origins of an entry, as they were, that an act has changed."""
    before, after = change.before, change.after
    values = {
        name: plain_value(getattr(before, name))
        for name in ENTRY_FIELDS
        if getattr(before, name) != getattr(after, name)
    }
    old = {} if before is None else before.sources
    sources = {
        name: plain_origin(old[name]) if name in old else None
        for name in dict.fromkeys((*old, *after.sources))
        if old.get(name) != after.sources.get(name)
    }
    return {"values": values, "sources": sources}


def plain_entry(entry: Entry) -> Row:
    """Return a whole entry as JSON can hold it; :func:`parse_entry` reads it back."""
    return {
        "id": entry.id,
        "values": {name: plain_value(getattr(entry, name)) for name in ENTRY_FIELDS},
        "sources": {name: plain_origin(origin) for name, origin in entry.sources.items()},
    }


def _row_to_decision(row: Mapping[str, Any]) -> Decision:
    made = None if row["made"] is None else json.loads(row["made"])
    return Decision(
        entry=row["entry"],
        values=MappingProxyType(
            {name: parse_plain(name, plain) for name, plain in json.loads(row["decided"]).items()}
        ),
        adds=parse_plain("doubts", json.loads(row["adds"])),
        made=None if made is None else parse_entry(made),
    )


def parse_entry(plain: Mapping[str, Any]) -> Entry:
    """Return the entry that :func:`plain_entry` has made plain."""
    values = {name: parse_plain(name, value) for name, value in plain["values"].items()}
    sources = {name: parse_plain_origin(one) for name, one in plain["sources"].items()}
    return Entry(id=plain["id"], sources=MappingProxyType(sources), **values)
