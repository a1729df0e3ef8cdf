"""Places, volumes and accession numbers, and what is said to be blank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voicelog.domain.entry import Side
from voicelog.domain.place import POCKET, SPINE, Place, next_page
from voicelog.domain.statement import (
    GoTo,
    NameAccession,
    NameVolume,
    SayBlank,
    SetValue,
    Step,
    Subject,
    TakeStep,
    Target,
)
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.places.grammar import LONGEST_WALK, PlaceReading
from voicelog.extraction.statements.kinds import has_field, is_cue
from voicelog.extraction.statements.leads import is_clause_start, only_between
from voicelog.extraction.statements.walk import Walk
from voicelog.vocabulary import TermField

SUBJECTS = {
    "subject_leaf": Subject.LEAF,
    "subject_volume": Subject.VOLUME,
    "subject_cover": Subject.COVER,
    "volume": Subject.VOLUME,
}
_PLACE_KINDS = frozenset({MarkKind.PLACE, MarkKind.STEP, MarkKind.RANGE})
_BESIDE = frozenset({"near", "along", "towards", "toward", "against", "beside", "by", "off"})
_ON = frozenset({"on", "in", "from", "at", "the", "of", "loose", "found", "is"})
_SAYS_OF_PLACE = frozenset({"is", "has", "was", "shows", "had", "looks", "'s"})


def take_place(walk: Walk, index: int, mark: Mark) -> bool:
    """Go to a place named outright; "near the spine" and "along the gutter" go nowhere."""
    if _is_only_beside(walk, mark):
        return False
    walk.flush_waiting()
    _go(walk, mark, mark.value)
    _speak_of_place(walk, index, mark)
    return True


def _is_only_beside(walk: Walk, mark: Mark) -> bool:
    at = mark.first - 1
    while walk.word(at) in {"the", "its"}:
        at -= 1
    if walk.word(at) in _BESIDE:
        return True
    is_part = mark.value.place is not None and mark.value.place.leaf in {SPINE, POCKET}
    return is_part and walk.word(at) in {"at", "on", "to", "from", "of", "in"}


def take_place_of_first_item(walk: Walk) -> None:
    """Go first to a place that is named right after what is there.

    "A pressed flower between leaves 7 and 8", "mould on leaf nine".

    Only where the note names no place before it and opens nothing after it.
    """
    places = [at for at, one in enumerate(walk.marks) if one.kind in _PLACE_KINDS]
    if len(places) != 1:
        return
    at = places[0]
    mark = walk.marks[at]
    before = walk.mark(at - 1)
    if (
        before is None
        or mark.kind is not MarkKind.PLACE
        or mark.value.side_only is not None
        or not (
            has_field(before, TermField.ITEM_TYPE)
            or (has_field(before, TermField.CONDITION) and walk.word(before.end) == "on")
        )
        or not all(token.norm in _ON for token in walk.tokens[before.end : mark.first])
        or any(has_field(one, TermField.ITEM_TYPE) for one in walk.marks[at + 1 :])
        or any(is_cue(one, "blank") for one in walk.marks)
    ):
        return
    take_place(walk, at, mark)
    walk.claimed.add(at)
    walk.leftovers.claim_ahead(mark.first, mark.end)
    if not has_field(before, TermField.ITEM_TYPE):
        walk.target = Target(subject=Subject.LEAF)


def take_step(walk: Walk, index: int, mark: Mark) -> bool:
    """Go to the next leaf, the facing page, the other side."""
    walk.flush_waiting()
    if mark.value.steps > 1:
        _take_several(walk, index, mark)
        return True
    walk.out.append(TakeStep(step=mark.value.step, spans=walk.spans(mark)))
    walk.has_leaf = True
    walk.leave_place()
    _speak_of_place(walk, index, mark)
    return True


def _take_several(walk: Walk, index: int, mark: Mark) -> None:
    """Go through "the next three leaves"; they make sense only where they are blank."""
    spans = walk.spans(mark)
    walk.has_leaf = True
    at = next((at for at, one in enumerate(walk.marks) if is_cue(one, "blank")), None)
    if at is None or at < index:
        doubt = "several places were named at once; only the first was taken"
        walk.out.append(TakeStep(step=mark.value.step, spans=spans, doubts=(doubt,)))
        walk.leave_place()
        return
    blank = walk.marks[at]
    is_leaf = mark.value.step is Step.NEXT_LEAF
    for _ in range(mark.value.steps):
        walk.out.append(TakeStep(step=mark.value.step, spans=spans))
        walk.out.append(SayBlank(both_sides=is_leaf, spans=(*spans, *walk.spans(blank))))
    walk.leave_place()
    walk.claimed.add(at)
    walk.leftovers.claim(mark.first, mark.end)
    walk.leftovers.claim_ahead(blank.first, blank.end)


def _speak_of_place(walk: Walk, index: int, mark: Mark) -> None:
    """Let "leaf nine is cockled" speak of the leaf; "leaf nine has a photograph" won't."""
    del index
    if walk.word(mark.end) in _SAYS_OF_PLACE and not walk.corrects:
        walk.target = Target(subject=Subject.LEAF)


def _go(walk: Walk, mark: Mark, reading: PlaceReading) -> None:
    if reading.side_only is not None:
        walk.out.append(
            GoTo(leaf=None, side=reading.side_only, corrects=walk.corrects, spans=walk.spans(mark))
        )
    elif reading.place is not None:
        walk.out.append(
            GoTo(
                leaf=reading.place.leaf,
                side=reading.place.side,
                side_said=reading.has_side,
                corrects=walk.corrects,
                spans=walk.spans(mark),
                doubts=(*reading.doubts, *walk.guesses(mark)),
            )
        )
        walk.has_leaf = True
    walk.leave_place()


def take_range(walk: Walk, index: int, mark: Mark) -> bool:
    """Take several places; they make sense only where they are said to be blank."""
    if any(is_cue(one, "blank") for one in (*walk.marks[index + 1 :], *walk.marks[:index])):
        walk.has_leaf = True
        return True
    first = mark.value.places[0]
    walk.out.append(
        GoTo(
            leaf=first.leaf,
            side=first.side or Side.RECTO,
            spans=walk.spans(mark),
            doubts=("several places were named at once; only the first was taken",),
        )
    )
    walk.has_leaf = True
    walk.leave_place()
    return True


def take_blank(walk: Walk, index: int, mark: Mark) -> bool:
    """Say that the place just named, or the one named right after, is blank."""
    following = walk.mark(index + 1)
    if (
        following is not None
        and following.first == mark.end
        and has_field(following, TermField.ITEM_TYPE)
    ):
        return False
    near = [
        one
        for one in walk.marks
        if one.kind in {MarkKind.PLACE, MarkKind.RANGE, MarkKind.STEP} or is_cue(one, "both_sides")
    ]
    before = [one for one in near if one.first < mark.first]
    after = next((one for one in near if one.first >= mark.end), None)
    if before and after is not None and not is_cue(after, "both_sides"):
        after = None
    if (
        after is not None
        and only_between(walk.tokens, mark.end, after.first)
        and not _has_pause(walk, mark.end, after)
    ):
        _say_blank(walk, mark, [*before, after])
        walk.claimed.add(walk.marks.index(after))
        walk.leftovers.claim(after.first, after.end)
        return True
    _say_blank(walk, mark, before)
    return True


def _has_pause(walk: Walk, first: int, after: Mark) -> bool:
    """Whether "blank, leaf ten" names a new place; "blank, both sides" does not."""
    if is_cue(after, "both_sides"):
        return False
    return any(not token.is_word for token in walk.tokens[first : after.first])


def _say_blank(walk: Walk, mark: Mark, near: Sequence[Mark]) -> None:
    spans = walk.spans(mark)
    last = near[-1] if near else None
    if last is not None and is_cue(last, "both_sides"):
        walk.out.append(SayBlank(both_sides=True, spans=spans))
        return
    reading: PlaceReading | None = last.value if last is not None else None
    if last is None or reading is None or reading.step is not None:
        walk.out.append(SayBlank(spans=spans))
        return
    if last.kind is MarkKind.RANGE:
        places = tuple((place.leaf, place.side) for place in reading.places)
        spans = (*walk.spans(last), *spans)
        walk.out.append(SayBlank(places=_join_sides(places), spans=spans))
        return
    together = _named_together(walk, near)
    if len(together) > 1:
        places = tuple(
            (place.leaf, place.side if has_side else None) for place, has_side in together
        )
        walk.out.append(SayBlank(places=_join_sides(places), spans=spans))
        return
    if last.first > mark.first:
        _go(walk, last, reading)
    says_this_side = any(
        token.norm in {"this", "that", "here", "there"}
        for token in walk.tokens[mark.first : mark.end]
    )
    is_whole_leaf = reading.place is not None and not reading.has_side and not says_this_side
    walk.out.append(SayBlank(both_sides=is_whole_leaf, spans=spans))


def _named_together(walk: Walk, near: Sequence[Mark]) -> list[tuple[Place, bool]]:
    """Return the places of "nine verso and ten recto", and whether a side was said of each.

    "Nine verso to eleven recto" are all sides from the one to the other.
    """
    together: list[tuple[Place, bool]] = []
    start: int | None = None
    for one in reversed(near):
        place = one.value.place if one.kind is MarkKind.PLACE else None
        if place is None:
            break
        between = " ".join(token.norm for token in walk.tokens[one.end : start or one.end])
        if start is None or between in {"and", ", and", "and also"}:
            together.insert(0, (place, one.value.has_side))
        elif between in {"to", "through"}:
            together[:1] = _sides_between(place, together[0][0])
        else:
            break
        start = one.first
    return together


def _sides_between(first: Place, last: Place) -> list[tuple[Place, bool]]:
    """Return every side from ``first`` to ``last``, or just these two if that is too far."""
    sides = [first]
    while sides[-1] != last and len(sides) <= 2 * LONGEST_WALK:
        sides.append(next_page(sides[-1]))
    if sides[-1] != last:
        sides = [first, last]
    return [(side, True) for side in sides]


def _join_sides(
    places: tuple[tuple[str, Side | None], ...],
) -> tuple[tuple[str, Side | None], ...]:
    """Make one place of both sides of a leaf: blank pages 5 and 6 are leaf 3."""
    joined: dict[str, Side | None] = {}
    for leaf, side in places:
        joined[leaf] = None if leaf in joined and joined[leaf] is not side else side
    return tuple(joined.items())


def take_accession(walk: Walk, index: int, mark: Mark) -> bool:
    """Name the accession."""
    del index
    walk.out.append(
        NameAccession(
            accession=mark.value,
            corrects=walk.corrects,
            spans=walk.spans(mark),
            doubts=mark.doubts,
        )
    )
    walk.has_leaf = walk.has_volume = False
    walk.leave_place()
    return True


def take_volume(walk: Walk, index: int, mark: Mark) -> bool:
    """Name the volume by number, by the donor's name, or by both."""
    del index
    reading = mark.value
    if reading.is_guess and (walk.has_volume or walk.has_leaf):
        return False
    walk.out.append(
        NameVolume(
            number=reading.number,
            name=reading.name,
            is_next=reading.is_next,
            names_current=reading.names_current,
            corrects=walk.corrects,
            spans=walk.spans(mark),
        )
    )
    walk.has_volume = True
    walk.leave_place()
    if not walk.corrects:
        walk.target = Target(subject=Subject.VOLUME)
    return True


def take_subject(walk: Walk, index: int, mark: Mark) -> bool:
    """Speak of the leaf, the volume or the cover from here on."""
    subject = SUBJECTS[mark.value]
    said = _damage_just_said(walk, mark)
    if subject is Subject.LEAF and said is not None:
        walk.out[-1] = replace(said, target=Target(subject=subject))
        return True
    if not is_clause_start(walk.tokens, mark.first, walk.marks, index):
        return False
    if index + 1 >= len(walk.marks) and subject is not Subject.VOLUME:
        return False
    walk.target = Target(subject=subject)
    return True


def _damage_just_said(walk: Walk, mark: Mark) -> SetValue | None:
    """Return the condition in "residue on the leaf", where it stands right before."""
    said = walk.out[-1] if walk.out else None
    if not isinstance(said, SetValue) or said.field != TermField.CONDITION:
        return None
    end = mark.first
    while walk.word(end - 1) in {"the", "this"}:
        end -= 1
    is_right_before = (
        bool(said.spans)
        and walk.word(end - 1) == "on"
        and said.spans[-1].last == walk.tokens[end - 2].last
    )
    return said if is_right_before else None
