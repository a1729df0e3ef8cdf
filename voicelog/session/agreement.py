"""How far a log agrees with the rows that a careful reader expects."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Record = Mapping[str, Any]
Key = tuple[Any, ...]

KEY_FIELDS = ("accession", "volume", "leaf", "side", "kind", "item")
"""Rows are matched by their place; what was said there is then compared."""

TEXT_FIELDS = frozenset({"caption", "remark"})
"""Recognisers differ in capitals and punctuation, so these are compared word by word."""

# What expected rows leave open: identities, times, and how sure the reading is. The
# status counts where a row is expected to be queried.
_NOT_COMPARED = frozenset(
    {
        *("id", "entry", "status", "confidence", "doubts", "cautions", "mark"),
        *("recorded_at", "handler", "notes", "sources"),
    }
)
_EMPTY: tuple[Any, ...] = (None, [], False, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One field that is not as expected.

    Attributes:
        place: where, as words.
        field: the field.
        expected: the expected value; None where nothing was expected.
        found: the value in the log; None where the row or the value is missing.
    """

    place: str
    field: str
    expected: Any
    found: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """The result of a comparison.

    Attributes:
        fields: how many fields were compared: all that either side fills.
        agreeing: how many of them agree.
        rows: how many rows were expected.
        missing: the places of expected rows that are not in the log.
        unexpected: the places of rows in the log that were not expected.
        differences: every field that is not as expected.
    """

    fields: int
    agreeing: int
    rows: int
    missing: tuple[str, ...]
    unexpected: tuple[str, ...]
    differences: tuple[Difference, ...]


def compare(expected: Iterable[Record], found: Iterable[Record]) -> Agreement:
    """Compare a log's records with the expected ones, field by field.

    Every field that either side fills counts. All fields of a row that is missing or was
    not expected count as disagreeing.

    Args:
        expected: records with only the fields that are not empty; relations name their
            target as "leaf/side/item".
        found: complete entry records, void ones left out.
    """
    records = list(found)
    places = {record["id"]: _format_target(record) for record in records}
    wanted = {_key(record): record for record in expected}
    present = {_key(record): _name_relations(record, places) for record in records}
    differences: list[Difference] = []
    fields = 0
    for key in {**wanted, **present}:
        row = _Row(key=key, expected=wanted.get(key), found=present.get(key))
        for field in row.fields():
            fields += 1
            if not row.agrees(field):
                differences.append(row.difference(field))
    return Agreement(
        fields=fields,
        agreeing=fields - len(differences),
        rows=len(wanted),
        missing=tuple(describe_key(key) for key in wanted if key not in present),
        unexpected=tuple(describe_key(key) for key in present if key not in wanted),
        differences=tuple(differences),
    )


def describe_key(key: Key) -> str:
    """Return a row's place as words.

    >>> describe_key(("2031-007", "1", "14", "recto", "item", 2))
    '2031-007, volume 1, leaf 14 recto, item 2'
    """
    accession, volume, leaf, side, kind, item = key
    parts = [accession or "no accession"]
    if volume:
        parts.append(f"volume {volume}")
    if leaf:
        name = f"leaf {leaf}" if leaf[0].isdecimal() else leaf
        parts.append(f"{name} {side}" if side else name)
    parts.append(f"item {item}" if kind == "item" else f"the {kind} itself")
    return ", ".join(parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    key: Key
    expected: Record | None
    found: Record | None

    def fields(self) -> Iterator[str]:
        expected, found = self.expected or {}, self.found or {}
        for field in {**expected, **found}:
            if field == "status":
                if field in expected:
                    yield field
            elif field not in _NOT_COMPARED and not (
                _is_empty(field, expected.get(field)) and _is_empty(field, found.get(field))
            ):
                yield field

    def agrees(self, field: str) -> bool:
        if self.expected is None or self.found is None:
            return False
        expected, found = self.expected.get(field), self.found.get(field)
        if _is_empty(field, expected) and _is_empty(field, found):
            return True
        if field in TEXT_FIELDS:
            return _words(expected) == _words(found)
        return bool(expected == found)

    def difference(self, field: str) -> Difference:
        return Difference(
            place=describe_key(self.key),
            field=field,
            expected=(self.expected or {}).get(field),
            found=(self.found or {}).get(field),
        )


def _key(record: Record) -> Key:
    return tuple(record.get(field) for field in KEY_FIELDS)


def _is_empty(field: str, value: Any) -> bool:
    if field == "quantity":
        return value in {None, 1}
    if field == "access":
        return value in {None, "open"}
    return value in _EMPTY


def _words(text: Any) -> list[str]:
    return re.findall(r"\w+", str(text or "").replace("'", "").replace("’", "").casefold())


def _format_target(record: Record) -> str:
    parts = (record.get("leaf"), record.get("side"), record.get("item"))
    return "/".join("" if part is None else str(part) for part in parts)


def _name_relations(record: Record, places: Mapping[str, str]) -> Record:
    relations = [
        {"kind": relation["kind"], "to": places.get(relation["id"], "?")}
        for relation in record.get("relations", [])
    ]
    return {**record, "relations": relations}
