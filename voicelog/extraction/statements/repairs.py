"""Mending in mid-note: "leaf four, no, fourteen", "a menu, sorry, an invitation"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from voicelog.domain.entry import Side
from voicelog.domain.place import Place, leaf_of_page
from voicelog.extraction.dates.edtf import keep_year
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.places.grammar import PlaceReading
from voicelog.extraction.statements.kinds import SILENT, is_cue, kind_of
from voicelog.extraction.tokens import Token

UNCLEAR = "unclear"
"""Value of a cue that takes something back, without its being clear what."""
_COUNTED = frozenset({MarkKind.SIZE, MarkKind.LEAVES, MarkKind.IMAGES, MarkKind.DATE})
_WHEREABOUTS = frozenset(
    {MarkKind.PLACE, MarkKind.STEP, MarkKind.VOLUME, MarkKind.ACCESSION, MarkKind.ENCLOSURE}
)
_BRIDGE = frozenset({",", "-", "–", "—", ".", ";", "…", "um", "uh", "er", "erm", "the"})


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
        first_word = len(kept)
        kept.append(_struck(mark))
        index += 1
        while index < len(marks) and (
            is_cue(marks[index], "repair", *SILENT)
            or (is_cue(marks[index], "negation") and _is_plain_no(marks[index], tokens))
        ):
            kept.append(_struck(marks[index]))
            index += 1
        index, has_mended = _replace(kept, marks, index)
        if not has_mended and _asks_for_mending(mark, tokens):
            kept[first_word] = replace(mark, value=UNCLEAR)
    return kept


def _asks_for_mending(mark: Mark, tokens: Sequence[Token]) -> bool:
    """Whether the words take something back for certain; "sorry" may be mere politeness."""
    said = {token.norm for token in tokens[mark.first : mark.end]}
    return bool(said & {"no", "mean", "make", "rather", "correct"})


def _struck(mark: Mark) -> Mark:
    return Mark(kind=MarkKind.STRUCK, first=mark.first, end=mark.end)


def _replace(kept: list[Mark], marks: Sequence[Mark], index: int) -> tuple[int, bool]:
    """Replace marks in ``kept`` by the adjacent marks from ``index`` on.

    Returns:
        The index of the next mark, and whether anything was replaced.

    A mark is mended in its place ("leaf 3, a postcard, sorry, leaf 4" puts the postcard on
    leaf 4), unless it leads into what follows it ("three, no, four snapshots").
    """
    previous_end: int | None = None
    said_more = has_mended = False
    while index < len(marks):
        mark = marks[index]
        if previous_end is not None and mark.first != previous_end:
            break
        rest = marks[index + 1 :]
        mended = _find_mended(kept, mark, rest)
        if mended is None:
            kept.append(mark)
            said_more = True
        else:
            position, replacement = mended
            has_mended = True
            earlier = kept[position]
            if not said_more and (replacement.kind in _WHEREABOUTS or not _leads_on(mark, rest)):
                kept[position] = replace(
                    replacement,
                    first=earlier.first,
                    end=earlier.end,
                    source=replacement.words,
                )
                kept.append(_struck(mark))
            else:
                kept[position] = _struck(earlier)
                kept.append(replacement)
                said_more = True  # what it leads into has to stand after it
        previous_end = mark.end
        index += 1
    return index, has_mended


def _leads_on(mark: Mark, rest: Sequence[Mark]) -> bool:
    return bool(rest) and rest[0].first == mark.end and rest[0].kind is MarkKind.TERM


def _find_mended(kept: Sequence[Mark], mark: Mark, rest: Sequence[Mark]) -> tuple[int, Mark] | None:
    kind = kind_of(mark)
    for position in range(len(kept) - 1, -1, -1):
        earlier = kept[position]
        if kind is not None and kind_of(earlier) == kind:
            return position, _mend_part(earlier, mark)
        if mark.kind is MarkKind.NUMBER and not _leads_on(mark, rest):
            as_kind = _number_as(earlier, mark)
            if as_kind is not None:
                return position, as_kind
        if mark.kind is MarkKind.PLACE and earlier.kind in {MarkKind.STEP, MarkKind.RANGE}:
            return position, mark
        if mark.kind in _COUNTED and earlier.kind is MarkKind.NUMBER:
            return position, mark
    return None


def _mend_part(earlier: Mark, mark: Mark) -> Mark:
    """Keep what is not mended: the number of a volume, the year of a date."""
    match mark.kind:
        case MarkKind.VOLUME:
            return _mend_volume(earlier, mark)
        case MarkKind.DATE:
            return _mend_date(earlier, mark)
        case _:
            return mark


def _mend_date(earlier: Mark, mark: Mark) -> Mark:
    """Keep the year when only the day is mended: "June fourth 1952, no, June fifth"."""
    before, value = earlier.value.edtf, mark.value.edtf
    if before is None or value is None or (edtf := keep_year(value, before)) == value:
        return mark
    words = (earlier.words[0], mark.end)
    return replace(mark, value=replace(mark.value, edtf=edtf), source=words)


def _mend_volume(earlier: Mark, mark: Mark) -> Mark:
    """Keep the number when only the name is mended: "volume two, the red, no, the blue book"."""
    value = replace(mark.value, is_guess=False)
    if value.number is None and not value.is_next:
        value = replace(value, number=earlier.value.number)
    elif value.name is None:
        value = replace(value, name=earlier.value.name)
    return replace(mark, value=value)


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
    if not (is_cue(mark, "negation") and _is_plain_no(mark, tokens)):
        return False
    if mark.end == len(tokens):
        return True
    if not rest:
        return False
    following = next((one for one in rest if not is_cue(one, *SILENT, "repair")), None)
    if following is None:
        return False
    if any(is_cue(one, "repair") for one in rest[:1]):
        return True
    has_pause = mark.end < len(tokens) and tokens[mark.end].norm in {",", "-", ".", ";", "…"}
    between = {token.norm for token in tokens[mark.end : following.first]}
    if not between <= _BRIDGE | {"a", "an", "it", "'s", "its", "is", "that"}:
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
