"""How an entry lies to others, as a reviewer types it: "behind entry 12; belongs with 14"."""

from __future__ import annotations

import re
from collections.abc import Callable

from voicelog.domain.entry import Relation, RelationKind
from voicelog.errors import ValueRefused
from voicelog.store.entry_log import StoredEntry

RELATIONS = "relations"
"""The field of the record."""

_KINDS = "|".join(RelationKind)
_RELATION = re.compile(rf"(?P<kind>{_KINDS})\s+(?:entry\s+)?(?P<number>\d{{1,9}})", re.IGNORECASE)


def parse_relations(
    typed: str, find_numbered: Callable[[int], StoredEntry | None]
) -> tuple[Relation, ...]:
    """Return the relations that a text names, each a kind and the number of an entry.

    Nothing typed is no relation.

    Args:
        typed: relations with ";" or "," between them.
        find_numbered: gives the entry of a display number, or None.

    Raises:
        ValueRefused: a part is no relation, or there is no such entry.
    """
    parts = [part for each in re.split("[;,]", typed) if (part := " ".join(each.split()))]
    return tuple(dict.fromkeys(_parse_one(part, typed, find_numbered) for part in parts))


def _parse_one(
    part: str, typed: str, find_numbered: Callable[[int], StoredEntry | None]
) -> Relation:
    found = _RELATION.fullmatch(part)
    if found is None:
        raise ValueRefused(
            f"{part!r} is no relation; write how it lies and to which entry, such as 'behind "
            f"entry 12'. It can lie {', '.join(RelationKind)}.",
            field=RELATIONS,
            typed=typed,
        )
    stored = find_numbered(int(found["number"]))
    if stored is None:
        raise ValueRefused(
            f"There is no entry {found['number']}; its number stands before each row.",
            field=RELATIONS,
            typed=typed,
        )
    return Relation(kind=RelationKind(found["kind"].lower()), id=stored.entry.id)
