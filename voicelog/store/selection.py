"""Which entries of a log a work list is asked for, and in which order."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from voicelog.domain.entry import Status


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeKey:
    """What the entries of one volume share; None where it wasn't said."""

    accession: str | None
    volume: str | None


class Order(StrEnum):
    """In which order entries are worked through."""

    BOOK = "book"
    DOUBTFUL_FIRST = "doubtful"


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Which entries are wanted; what is None or empty doesn't narrow it.

    Attributes:
        volume: of one volume.
        leaf: on one leaf, by its label.
        status: of one status; void entries are only there when asked for.
        doubted_field: with a doubt about this field.
        caution: with this caution, by its id.
        handler: dictated by this person.
        day: dictated on this day, "2031-05-02".
        ids: among these, by their ids.
        words: with all of these words in caption, remark or what was heard; as it is typed.
    """

    volume: VolumeKey | None = None
    leaf: str | None = None
    status: Status | None = None
    doubted_field: str | None = None
    caution: str | None = None
    handler: str | None = None
    day: str | None = None
    ids: frozenset[str] = frozenset()
    words: str = ""

    @property
    def is_narrow(self) -> bool:
        """Whether it holds few entries, however large the log is."""
        return bool(self.volume or self.ids or self.words)


@dataclass(frozen=True, slots=True)
class Condition:
    """A part of a query, and the values it asks for."""

    sql: str
    values: list[Any] = field(default_factory=list)


_DOUBTED = "SELECT json_extract(doubt.value, '$.field') FROM json_each(entries.doubts) AS doubt"


def condition_of(selection: Selection, *, include_void: bool = False) -> Condition:
    """Return what rows of ``entries`` must be for a selection; its words are not looked at."""
    parts: list[Condition] = [Condition("1")]
    if selection.status:
        parts.append(Condition("entries.status = ?", [selection.status]))
    elif not include_void:
        parts.append(Condition("entries.status <> 'void'"))
    if selection.volume:
        parts.append(
            Condition(
                "accession IS ? AND volume IS ?",
                [selection.volume.accession, selection.volume.volume],
            )
        )
    if selection.leaf is not None:
        parts.append(Condition("leaf = ?", [selection.leaf]))
    if selection.doubted_field is not None:
        parts.append(Condition(f"? IN ({_DOUBTED})", [selection.doubted_field]))
    if selection.caution is not None:
        parts.append(
            Condition("? IN (SELECT value FROM json_each(entries.cautions))", [selection.caution])
        )
    if selection.handler is not None:
        parts.append(Condition("handler = ?", [selection.handler]))
    if selection.day is not None:
        parts.append(Condition("substr(recorded_at, 1, 10) = ?", [selection.day]))
    if selection.ids:
        marks = ", ".join("?" * len(selection.ids))
        parts.append(Condition(f"entries.id IN ({marks})", sorted(selection.ids)))
    return Condition(
        " AND ".join(part.sql for part in parts),
        [value for part in parts for value in part.values],
    )
