"""What stands in front of an item type, and how a clause or a note begins."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements.kinds import SILENT, has_field, is_cue
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

_DEFINITE = frozenset({"the", "that", "this", "those", "these", "its", "their", "said"})
_INDEFINITE = frozenset({"a", "an", "another", "more", "one", "some", "any"})
_ADJECTIVES = frozenset(
    {
        "brittle", "loose", "torn", "dirty", "wavy", "tacky", "sticky", "mouldy", "moldy",
        "grimy", "rusty", "silvery", "split", "dusty", "foxed", "tight", "secure", "lifting",
        "curling", "flaking", "fading", "yellowing", "corroding", "peeling", "rusting", "faded",
        "folded", "detached", "missing", "vinegary", "smudged", "blocked",
    }
)  # fmt: skip
_CONTINUATION = (
    ("caption",), ("reads",), ("inscribed",), ("measures",), ("size",), ("back",), ("front",),
    ("dated",), ("goes", "in"), ("goes", "into"), ("moved", "to"), ("came",), ("removed",),
    ("lifted",), ("left",), ("both",), ("it",), ("its",), ("also",), ("with",),
    ("there", "'s", "some"),
)  # fmt: skip
_CLAUSE_WORDS = frozenset({"and", "but", "so", "then", "also", "while", "although", "okay", "now"})
_BRIDGE = frozenset(
    {",", "the", "a", "an", "is", "at", "in", "on", "of", "its", "it", "'s", "are", "this", "and",
     "along", "near", "to", "that", "both"}
)  # fmt: skip


def lead_in(
    marks: Sequence[Mark], index: int, tokens: Sequence[Token], claimed: set[int]
) -> tuple[int, ...]:
    """Return the marks that lead straight into the item type at ``index``, in order.

    Numbers, sizes, dates and adjectives lead ("two torn yellowed clippings", "a four by six
    photograph"); nouns such as "foxing" or "photo corners" never do.
    """
    lead: list[int] = []
    at = index - 1
    edge = marks[index].first
    while at >= 0:
        mark = marks[at]
        between = [token.norm for token in tokens[mark.end : edge]]
        joins_adjectives = bool(lead) and set(between) <= {"and", ","}
        counts = mark.kind is MarkKind.NUMBER and set(between) <= {"more", "of", "other"}
        is_soft = is_cue(mark, "degrees", "fillers") and not between
        if between and not joins_adjectives and not counts:
            break
        if is_soft:
            edge = mark.first
            at -= 1
            continue
        if at in claimed or not _can_lead(mark, tokens, marks, at):
            break
        if between and joins_adjectives and mark.kind is not MarkKind.TERM:
            break
        lead.append(at)
        edge = mark.first
        at -= 1
        if mark.kind is MarkKind.NUMBER:
            break
    return tuple(reversed(lead))


def _can_lead(mark: Mark, tokens: Sequence[Token], marks: Sequence[Mark], at: int) -> bool:
    if mark.kind in {MarkKind.NUMBER, MarkKind.SIZE}:
        return True
    if mark.kind is MarkKind.DATE:
        before = marks[at - 1] if at else None
        return not (before is not None and is_cue(before, "dated") and before.end == mark.first)
    if has_field(mark, TermField.POSITION):
        return True
    is_describing = (
        has_field(mark, TermField.CONDITION)
        or has_field(mark, TermField.ADHESION)
        or has_field(mark, TermField.ATTACHMENT)
    )
    last = tokens[mark.end - 1].norm
    first = tokens[mark.first].norm
    return is_describing and (last in _ADJECTIVES or last.endswith("ed") or first in _ADJECTIVES)


def determiner_before(
    tokens: Sequence[Token], first: int
) -> Literal["definite", "indefinite"] | None:
    """Return what kind of determiner stands before the words that begin at ``first``."""
    at = first - 1
    while at >= 0 and tokens[at].norm in {"um", "uh", "er", "erm", "old", "little", "small"}:
        at -= 1
    if at < 0:
        return None
    if tokens[at].norm == "that" and at and tokens[at - 1].norm == "make":
        return None  # "make that three postcards"
    if tokens[at].norm in _DEFINITE:
        return "definite"
    return "indefinite" if tokens[at].norm in _INDEFINITE else None


def is_clause_start(tokens: Sequence[Token], first: int, marks: Sequence[Mark], index: int) -> bool:
    """Whether a new clause begins at this token: at the start, after a pause or a filler."""
    while first and tokens[first - 1].norm in {"the", "this", "that"}:
        first -= 1
    if first == 0:
        return True
    if not tokens[first - 1].is_word or tokens[first - 1].norm in _CLAUSE_WORDS:
        return True
    if tokens[first - 1].norm in {"in", "at", "on"}:
        return is_clause_start(tokens, first - 1, marks, index)
    before = marks[index - 1] if index else None
    if before is None or before.end != first:
        return False
    if is_cue(before, *SILENT, "position", "correction", "repair"):
        return True
    return before.kind in {MarkKind.PLACE, MarkKind.STEP, MarkKind.VOLUME}


def is_continuation(tokens: Sequence[Token], start: int, marks: Sequence[Mark]) -> bool:
    """Whether the note goes on about what was named before ("goes in ...", "measures ...")."""
    silent = {at for mark in marks if is_cue(mark, "fillers") for at in range(mark.first, mark.end)}
    first = start
    while first < len(tokens) and (
        not tokens[first].is_word
        or (first in silent and tokens[first].norm not in {"it", "its"})
        or tokens[first].norm in {"and", "so", "okay"}
    ):
        first += 1
    if any(
        mark.first == first and mark.kind in {MarkKind.PLACE, MarkKind.STEP, MarkKind.RANGE}
        for mark in marks
    ):
        return False
    norms = tuple(token.norm for token in tokens[first : first + 3])
    return any(norms[: len(words)] == words for words in _CONTINUATION)


def only_between(tokens: Sequence[Token], first: int, end: int, *, loosely: bool = False) -> bool:
    """Whether nothing but grammatical words stands between two tokens."""
    allowed = _BRIDGE | ({"there", "tucked", "one", "another", "small"} if loosely else frozenset())
    return all(token.norm in allowed for token in tokens[first:end])
