"""What must be settled before a note's marks mean anything.

Some words decide over others: a caption swallows what follows, "strike that" takes back
what came before, "no, fourteen" mends the number in front, "no tears" says that there are
none. These passes run in that order and leave a list of marks that can be read straight on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from voicelog.domain.entry import Side
from voicelog.domain.place import Place, leaf_of_page
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.pipeline.language_pipeline import FoundTerm
from voicelog.extraction.places.grammar import PlaceReading
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

SILENT = frozenset({"fillers", "continues"})
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
_COUNTED = frozenset({MarkKind.SIZE, MarkKind.LEAVES, MarkKind.IMAGES, MarkKind.DATE})
_NEGATION_BRIDGE = frozenset({"or", "nor", "any", "and", "a", "an", "the", "of", "no", "be", "at"})
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
_REPAIR_BRIDGE = frozenset({",", "-", "–", "—", ".", ";", "…", "um", "uh", "er", "erm", "the"})


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
        said_before = any(not is_cue(one, *SILENT) for one in kept)
        if not said_before:
            strikes += 1
        kept = []
        start = mark.end
    return kept, start, strikes


def mend_repairs(marks: Sequence[Mark], tokens: Sequence[Token]) -> list[Mark]:
    """Let "sorry", "I mean", "make that" and "no" replace what stands before them.

    What is replaced is the nearest mark before of the same kind (and field); a bare number
    takes the kind of the mark it mends ("leaf four, no, fourteen").
    """
    kept: list[Mark] = []
    index = 0
    while index < len(marks):
        mark = marks[index]
        if not _is_repair(mark, marks[index + 1 :], kept, tokens):
            kept.append(mark)
            index += 1
            continue
        kept.append(_struck(mark))
        index += 1
        while index < len(marks) and (
            is_cue(marks[index], "repair", *SILENT)
            or (is_cue(marks[index], "negation") and _is_plain_no(marks[index], tokens))
        ):
            kept.append(_struck(marks[index]))
            index += 1
        index = _replace(kept, marks, index)
    return kept


def _struck(mark: Mark) -> Mark:
    return Mark(kind=MarkKind.STRUCK, first=mark.first, end=mark.end)


def _replace(kept: list[Mark], marks: Sequence[Mark], index: int) -> int:
    """Replace marks in ``kept`` by the adjacent marks from ``index`` on; return what is next."""
    previous_end: int | None = None
    while index < len(marks):
        mark = marks[index]
        if previous_end is not None and mark.first != previous_end:
            break
        mended = _find_mended(kept, mark, marks[index + 1 :])
        if mended is None:
            kept.append(mark)
        else:
            position, replacement = mended
            if mark.kind is MarkKind.NUMBER and not _counts_an_item(mark, marks[index + 1 :]):
                if replacement.kind is MarkKind.NUMBER:
                    # "two postcards, make that three": the number still counts the postcards.
                    kept[position] = replace(kept[position], value=mark.value)
                    replacement = _struck(mark)
                else:
                    kept[position] = _struck(kept[position])
            else:
                kept[position] = _struck(kept[position])
            kept.append(replacement)
        previous_end = mark.end
        index += 1
    return index


def _find_mended(kept: Sequence[Mark], mark: Mark, rest: Sequence[Mark]) -> tuple[int, Mark] | None:
    kind = kind_of(mark)
    for position in range(len(kept) - 1, -1, -1):
        earlier = kept[position]
        if kind is not None and kind_of(earlier) == kind:
            return position, _mend_volume(earlier, mark)
        if mark.kind is MarkKind.NUMBER and not _counts_an_item(mark, rest):
            as_kind = _number_as(earlier, mark)
            if as_kind is not None:
                return position, as_kind
        if mark.kind is MarkKind.PLACE and earlier.kind in {MarkKind.STEP, MarkKind.RANGE}:
            return position, mark
        if mark.kind in _COUNTED and earlier.kind is MarkKind.NUMBER:
            return position, mark
    return None


def _mend_volume(earlier: Mark, mark: Mark) -> Mark:
    """Keep the number when only the name is mended: "volume two, the red, no, the blue book"."""
    if mark.kind is not MarkKind.VOLUME:
        return mark
    value = replace(mark.value, is_guess=False)
    if value.number is None and not value.is_next:
        value = replace(value, number=earlier.value.number)
    elif value.name is None:
        value = replace(value, name=earlier.value.name)
    return replace(mark, value=value)


def _counts_an_item(mark: Mark, rest: Sequence[Mark]) -> bool:
    if not rest or rest[0].first != mark.end:
        return False
    following = rest[0]
    return has_field(following, TermField.ITEM_TYPE) or following.kind is MarkKind.TERM


def _number_as(earlier: Mark, number: Mark) -> Mark | None:
    """Return the number as the kind of place, enclosure or image list it mends."""
    value = earlier.value
    match earlier.kind:
        case MarkKind.PLACE if isinstance(value, PlaceReading) and value.place is not None:
            if value.place.number is None:
                return None
            place = Place(leaf=str(number.value), side=value.place.side or Side.RECTO)
            if value.first_page is not None:
                place = leaf_of_page(number.value, first_page=value.first_page)
            mended = replace(value, place=place)
            return replace(earlier, first=number.first, end=number.end, value=mended)
        case MarkKind.ENCLOSURE:
            kind = value[1]
            return replace(
                earlier, first=number.first, end=number.end, value=(f"{kind} {number.value}", kind)
            )
        case MarkKind.IMAGES:
            return replace(earlier, first=number.first, end=number.end, value=(number.value,))
        case MarkKind.VOLUME:
            return replace(
                earlier,
                first=number.first,
                end=number.end,
                value=replace(value, number=str(number.value)),
            )
        case MarkKind.LEAVES:
            return replace(earlier, first=number.first, end=number.end, value=number.value)
        case _:
            return None


def _is_repair(
    mark: Mark, rest: Sequence[Mark], kept: Sequence[Mark], tokens: Sequence[Token]
) -> bool:
    if not any(not is_cue(one, *SILENT) for one in kept):
        return False
    if is_cue(mark, "repair"):
        return True
    if not (is_cue(mark, "negation") and _is_plain_no(mark, tokens)) or not rest:
        return False
    following = next((one for one in rest if not is_cue(one, *SILENT, "repair")), None)
    if following is None:
        return False
    if any(is_cue(one, "repair") for one in rest[:1]):
        return True
    has_pause = mark.end < len(tokens) and tokens[mark.end].norm in {",", "-", ".", ";", "…"}
    between = {token.norm for token in tokens[mark.end : following.first]}
    if not between <= _REPAIR_BRIDGE | {"a", "an", "it", "'s", "its", "is", "that"}:
        return False
    if not any(
        _find_mended(kept, one, rest[at + 1 :])
        for at, one in _adjacent(rest, rest.index(following))
    ):
        return False
    has_article = bool(between & {"a", "an", "the"})
    return has_pause or has_article or following.kind is not MarkKind.TERM


def _adjacent(marks: Sequence[Mark], start: int) -> Iterator[tuple[int, Mark]]:
    """Yield the marks from ``start`` on that follow each other without a gap."""
    end = marks[start].first
    for at in range(start, len(marks)):
        if marks[at].first != end:
            return
        yield at, marks[at]
        end = marks[at].end


def _is_plain_no(mark: Mark, tokens: Sequence[Token]) -> bool:
    return mark.end - mark.first == 1 and tokens[mark.first].norm == "no"


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
        if after == index + 1:
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
        if not set(between) <= _NEGATION_BRIDGE | {"'s"}:
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
    return (end, after) if has_term else (marks[index].end, index + 1)


def is_cue(mark: Mark, *names: str) -> bool:
    """Whether the mark is one of these cues."""
    return mark.kind is MarkKind.CUE and mark.value in names


def has_field(mark: Mark, field: TermField) -> bool:
    """Whether the mark is a term that can fill this field."""
    return mark.kind is MarkKind.TERM and any(
        concept.field is field for concept in mark.value.concepts
    )


def kind_of(mark: Mark) -> tuple[str, ...] | None:
    """Return what a mark is, finely enough to say whether another is of the same kind."""
    match mark.kind:
        case MarkKind.TERM:
            found: FoundTerm = mark.value
            return ("term", *sorted(str(concept.field) for concept in found.concepts)[:1])
        case MarkKind.PLACE:
            return ("side",) if mark.value.side_only else ("place",)
        case MarkKind.CUE:
            return ("blank",) if mark.value == "blank" else None
        case MarkKind.ASIDE | MarkKind.STRUCK:
            return None
        case _:
            return (str(mark.kind),)
