"""What is said not to be: "no tears or stains", "not stuck", "nothing brushed"."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements.kinds import has_field, is_cue
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

_NEGATABLE = frozenset(
    {
        TermField.CONDITION,
        TermField.ATTACHMENT,
        TermField.ADHESION,
        TermField.ACTION,
        TermField.ITEM_TYPE,
        TermField.OVERLAY,
    }
)
_BRIDGE = frozenset({"or", "nor", "any", "and", "a", "an", "the", "of", "no", "be", "at"})


def mark_negations(marks: Sequence[Mark], tokens: Sequence[Token]) -> list[Mark]:
    """Turn denied terms into asides: "no tears or stains" says that there are none.

    The words are kept for the remark; they fill no field and raise no doubt.
    """
    kept: list[Mark] = []
    index = 0
    while index < len(marks):
        mark = marks[index]
        if not is_cue(mark, "negation") and not _denies_action(mark, marks[index + 1 :], tokens):
            kept.append(mark)
            index += 1
            continue
        end, after = _negated_until(marks, index, tokens)
        if after == index + 1 and end == mark.end:
            kept.append(mark)
        else:
            kept.append(Mark(kind=MarkKind.ASIDE, first=mark.first, end=end))
        index = after
    return kept


def _denies_action(mark: Mark, rest: Sequence[Mark], tokens: Sequence[Token]) -> bool:
    """Whether "nothing" denies what was done ("nothing brushed") and says nothing of blank."""
    return (
        is_cue(mark, "blank")
        and tokens[mark.first].norm == "nothing"
        and mark.end - mark.first == 1
        and bool(rest)
        and rest[0].first <= mark.end + 2
        and has_field(rest[0], TermField.ACTION)
    )


def _negated_until(marks: Sequence[Mark], index: int, tokens: Sequence[Token]) -> tuple[int, int]:
    end = marks[index].end
    after = index + 1
    has_term = False
    while after < len(marks):
        mark = marks[after]
        between = [token.norm for token in tokens[end : mark.first]]
        if not set(between) <= _BRIDGE | {"'s"}:
            break
        if is_cue(mark, "degrees", "fillers"):
            end, after = mark.end, after + 1
            continue
        may_extend = not has_term or bool(set(between) & {"or", "nor"})
        is_denied = mark.kind is MarkKind.TERM and any(
            concept.field in _NEGATABLE for concept in mark.value.concepts
        )
        is_denied = is_denied or is_cue(mark, "dated", "caption")
        if not may_extend or not is_denied:
            break
        has_term = True
        end, after = mark.end, after + 1
    if not has_term and [token.norm for token in tokens[end : end + 1]] in (["item"], ["items"]):
        return end + 1, after  # "no items": nothing is pasted in, which is not to say blank
    return (end, after) if has_term else (marks[index].end, index + 1)
