"""What must be settled before a note's marks mean anything.

Some words decide over others: a caption swallows what follows, "strike that" takes back
what came before, "no, fourteen" mends the number in front, "no tears" says that there are
none. These passes run in that order and leave a list of marks that can be read straight on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements.kinds import SILENT, is_cue
from voicelog.extraction.tokens import Token

_AROUND_READS = (
    "caption", "position", "damage_places", "degrees", "fillers", "enclosed_in", "volume_words"
)  # fmt: skip
# What may stand between "inscription" and "reads".
_BEFORE_READS = frozenset(
    {
        ",", ":", '"', "in", "on", "the", "a", "at", "below", "beneath", "underneath", "above",
        "beside", "it", "back", "front", "white", "black", "blue", "red", "green", "silver", "gold",
        "ink", "pencil", "pen", "crayon", "biro", "that", "which", "is", "and", "under", "card",
        "small", "neat", "handwriting", "hand", "written", "typed", "printed",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Swallowed:
    """Words taken verbatim by a caption or a remark.

    Attributes:
        first: index of the first token taken.
        end: index after the last token taken.
        is_open: whether the note ended before anything closed it.
    """

    first: int
    end: int
    is_open: bool


def take_verbatim(marks: Sequence[Mark], tokens: Sequence[Token]) -> list[Mark]:
    """Let captions and remarks swallow what follows them.

    A caption runs to "end caption" or the end of the note; a remark to the end of the note.
    "No caption" opens none.
    """
    kept: list[Mark] = []
    index = 0
    while index < len(marks):
        mark = marks[index]
        if not is_cue(mark, "caption", "remark") or _is_denied(kept, mark, tokens):
            kept.append(mark)
            index += 1
            continue
        if mark.value == "caption" and _only_number_follows(mark, marks[index + 1 :], tokens):
            kept.append(mark)
            index += 1
            continue
        mark, index = _join_captions(mark, marks, index, tokens)
        close = None
        if mark.value == "caption":
            close = next((one for one in marks[index:] if is_cue(one, "caption_end")), None)
        end = close.first if close else len(tokens)
        first = _skip_opening(tokens, mark.end, end)
        last = _skip_closing(tokens, first, end)
        swallowed = Swallowed(first=first, end=last, is_open=close is None)
        after = close.end if close else len(tokens)
        kept.append(replace(mark, end=after, value=(mark.value, swallowed)))
        index = next(
            (at for at, one in enumerate(marks) if at >= index and one.first >= after), len(marks)
        )
    return kept


def _join_captions(
    mark: Mark, marks: Sequence[Mark], index: int, tokens: Sequence[Token]
) -> tuple[Mark, int]:
    """Take "an inscription in white ink reads" as one opening."""
    start = index = index + 1
    opening = mark
    while mark.value == "caption" and index < len(marks) and is_cue(marks[index], *_AROUND_READS):
        if not is_cue(marks[index], "caption"):
            index += 1
            continue
        between = {token.norm for token in tokens[mark.end : marks[index].first]}
        if not between <= _BEFORE_READS:
            break
        opening = replace(mark, end=marks[index].end)
        start = index = index + 1
        mark = opening
    return opening, start


def _only_number_follows(mark: Mark, rest: Sequence[Mark], tokens: Sequence[Token]) -> bool:
    """Whether "inscribed" is the act of numbering: nothing to read follows it."""
    is_inscribed = mark.end - mark.first == 1 and tokens[mark.first].norm == "inscribed"
    if not is_inscribed:
        return False
    following = [token.norm for token in tokens[mark.end :] if token.is_word]
    if not following:
        return True
    if rest and rest[0].first == mark.end and rest[0].kind is MarkKind.ENCLOSURE:
        return True
    return set(following) <= {"on", "the", "back", "in", "pencil", "and", "number", "with", "it"}


def _is_denied(kept: Sequence[Mark], mark: Mark, tokens: Sequence[Token]) -> bool:
    return bool(
        kept
        and mark.value == "caption"
        and is_cue(kept[-1], "negation")
        and kept[-1].end == mark.first
        and tokens[mark.first].norm in {"caption", "inscription"}
    )


def _skip_opening(tokens: Sequence[Token], first: int, end: int) -> int:
    while first < end and not tokens[first].is_word and tokens[first].norm not in {"(", "'", "$"}:
        first += 1
    return first


def _skip_closing(tokens: Sequence[Token], first: int, end: int) -> int:
    while end > first and tokens[end - 1].norm in {".", ",", ";", '"', "”", "'", "’", "-"}:
        end -= 1
    return end


def strike_inside(marks: Sequence[Mark]) -> tuple[list[Mark], int, int]:
    """Apply "strike that" inside a note.

    Returns:
        The marks left, the index of the first token that still counts, and how often
        "strike that" was said before anything else (each takes back an earlier note).
    """
    kept: list[Mark] = []
    start = strikes = 0
    for mark in marks:
        if not is_cue(mark, "strike"):
            kept.append(mark)
            continue
        # "no, strike that" says nothing yet that could be struck.
        said_before = any(not is_cue(one, *SILENT, "repair", "negation") for one in kept)
        if not said_before:
            strikes += 1
        kept = []
        start = mark.end
    return kept, start, strikes
