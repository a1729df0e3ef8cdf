"""Acts of review: what a person decided about entries, as values that can be replayed.

Notes say what was heard; acts say what a person made of it. The state of a log is what its
notes and its acts give, taken in the order in which they came.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from voicelog.domain.entry import Doubt, Entry, Review, Status
from voicelog.domain.plain_values import plain_value


class ActKind(StrEnum):
    """What a reviewer can do."""

    SET = "set"
    SET_ALIKE = "set alike"
    CONFIRM = "confirm"
    REOPEN = "reopen"
    VOID = "void"
    RESTORE = "restore"
    SPLIT = "split"
    MERGE = "merge"
    REORDER = "reorder"
    MOVE = "move"
    ADD = "add"
    UNDO = "undo"
    SIGN_OFF = "sign off"
    UNLOCK = "unlock"
    LEARN = "learn"
    FORGET = "forget"
    DRAW = "draw a sample"
    REDACT = "redact"
    BRING_IN = "bring in"
    SALVAGE = "salvage"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What one act decides about one entry.

    Attributes:
        entry: the entry's id.
        values: the fields that were decided, and their values. A status other than confirmed
            and void means "open again": whether it is heard or queried follows from the doubts.
        adds: doubts that the act itself brings.
        made: the whole entry, where the act made it.
    """

    entry: str
    values: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    adds: tuple[Doubt, ...] = ()
    made: Entry | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One act of review.

    Attributes:
        number: its number in the log, from 1; 0 before it is stored.
        kind: what was done.
        by: who did it.
        at: when, ISO 8601 with zone.
        session: the reviewer's session, within which acts can be undone.
        after_note: the number of the last note that the log held then.
        decisions: what it decided, entry by entry, in the order of being applied.
        undoes: the number of the act that it takes back, or None.
        details: what else is to be remembered: the text typed, a reason, a volume.
    """

    kind: ActKind
    by: str
    at: str
    session: str
    number: int = 0
    after_note: int = 0
    decisions: tuple[Decision, ...] = ()
    undoes: int | None = None
    details: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """An entry as somebody saw it: what an act says it is based on.

    Attributes:
        entry: the entry's id.
        version: the version of the entry that was on the screen.
    """

    entry: str
    version: int


def decide(entry: Entry, decision: Decision, *, by: str, at: str) -> Entry:
    """Return the entry as a decision leaves it, before status and confidence are worked out.

    Decided values name who decided them; doubts about them are settled.
    """
    values = decision.values
    sources = dict(entry.sources)
    for name in values:
        sources[name] = Review(by=by, at=at, was=plain_value(getattr(entry, name)))
    kept = tuple(
        doubt for doubt in entry.doubts if doubt.field is None or not _settles(values, doubt.field)
    )
    added = tuple(doubt for doubt in decision.adds if doubt not in kept)
    decided = replace(entry, **values, sources=MappingProxyType(sources), doubts=(*kept, *added))
    if decided.status is Status.CONFIRMED and "status" in values:
        return replace(decided, doubts=(), confidence=1.0)
    if "status" in values and decided.status is not Status.VOID:
        return replace(decided, status=Status.HEARD)
    return decided


def is_decided(entry: Entry, name: str) -> bool:
    """Whether a person decided a field of an entry, so that no reading may change it."""
    return entry.status is Status.CONFIRMED or isinstance(entry.sources.get(name), Review)


def _settles(values: Mapping[str, Any], name: str) -> bool:
    # A doubt about the place is kept under "leaf", also where the side is doubtful.
    return name in values or (name == "leaf" and "side" in values)
