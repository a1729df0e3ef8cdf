"""Marks: stretches of a note that a grammar has recognised."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class MarkKind(StrEnum):
    """What a stretch of a note is."""

    TERM = "term"
    NUMBER = "number"
    ORDINAL = "ordinal"
    ACCESSION = "accession"
    VOLUME = "volume"
    PLACE = "place"
    STEP = "step"
    RANGE = "range"
    BLANK = "blank"
    ENCLOSURE = "enclosure"
    IMAGES = "images"
    DATE = "date"
    SIZE = "size"
    LEAVES = "leaves"
    CUE = "cue"
    ASIDE = "aside"
    STRUCK = "struck"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One recognised stretch.

    Attributes:
        kind: what it is.
        first: index of its first token.
        end: index after its last token.
        value: what the grammar read; its type depends on the kind.
        weight: how much the stretch is worth when marks overlap.
        doubts: reasons in plain words.
        source: first token and end of the words that gave the value, where they stand
            elsewhere than the mark ("leaf four, no, fourteen").
    """

    kind: MarkKind
    first: int
    end: int
    value: Any = None
    weight: float = 1.0
    doubts: tuple[str, ...] = ()
    source: tuple[int, int] | None = None

    @property
    def words(self) -> tuple[int, int]:
        """First token and end of the words that gave the value."""
        return self.source or (self.first, self.end)


def choose_marks(marks: list[Mark], length: int) -> list[Mark]:
    """Return the marks that cover the note best without overlapping, in order.

    Weighted interval scheduling: every token covered counts its mark's weight, every
    mark costs half a token, so that the longest reading wins where both fit.

    Args:
        marks: all candidates; where two cover the same tokens the first one wins ties.
        length: number of tokens in the note.
    """
    starting: dict[int, list[Mark]] = {}
    for mark in marks:
        starting.setdefault(mark.first, []).append(mark)
    best: list[tuple[float, Mark | None]] = [(0.0, None)] * (length + 1)
    for index in range(length - 1, -1, -1):
        chosen: tuple[float, Mark | None] = (best[index + 1][0], None)
        for mark in starting.get(index, ()):
            score = (mark.end - mark.first) * mark.weight - 0.5 + best[mark.end][0]
            if score > chosen[0]:
                chosen = (score, mark)
        best[index] = chosen
    kept: list[Mark] = []
    index = 0
    while index < length:
        mark_here = best[index][1]
        if mark_here is None:
            index += 1
        else:
            kept.append(mark_here)
            index = mark_here.end
    return kept
