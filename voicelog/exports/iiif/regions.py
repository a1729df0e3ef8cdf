"""Where on a side an item lies: nine fields, three by three."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from voicelog.domain.entry import Entry, RelationKind

_ROWS: Final = ("upper", "centre", "lower")
_COLUMNS: Final = ("left", "centre", "right")
_LIES_WITH = (
    RelationKind.INSIDE,
    RelationKind.BEHIND,
    RelationKind.UNDER,
    RelationKind.OVERLAPPING,
    RelationKind.ATTACHED_TO,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A rectangle on a canvas, in its pixels, from the upper left corner."""

    x: int
    y: int
    width: int
    height: int


def find_region(position: str, *, width: int, height: int) -> Region | None:
    """Return the field of a canvas that a position names, or None where it names none.

    Args:
        position: a term of the vocabulary's field ``position``.
        width: of the canvas, in pixels.
        height: of the canvas, in pixels.

    >>> find_region("upper right", width=900, height=600)
    Region(x=600, y=0, width=300, height=200)
    >>> find_region("overlapping", width=900, height=600) is None
    True
    """
    words = position.split()
    if words == ["centre"]:
        words = ["centre", "centre"]
    if len(words) != 2 or words[0] not in _ROWS or words[1] not in _COLUMNS:
        return None
    row, column = _ROWS.index(words[0]), _COLUMNS.index(words[1])
    left, right = column * width // 3, (column + 1) * width // 3
    top, bottom = row * height // 3, (row + 1) * height // 3
    return Region(x=left, y=top, width=right - left, height=bottom - top)


def find_position(entry: Entry, others: Mapping[str, Entry]) -> str | None:
    """Return where an item lies: its own position, else that of the item it lies with.

    An item said to be inside, behind, under, on or across another lies where that one does.

    Args:
        entry: the item.
        others: the entries of the volume by id.
    """
    seen: set[str] = set()
    current: Entry | None = entry
    while current is not None and current.id not in seen:
        seen.add(current.id)
        if current.position is not None and current.position != "overlapping":
            return current.position
        lies_with = (tie.id for tie in current.relations if tie.kind in _LIES_WITH)
        current = next((others[id_] for id_ in lies_with if id_ in others), None)
    return None
