"""The values of whatever is spoken of: terms, words on it, sizes, dates, enclosures."""

from __future__ import annotations

from voicelog.domain.statement import (
    KeepWords,
    OpenItem,
    PointAt,
    SetValue,
    Subject,
    Target,
    WriteCaption,
)
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements import items
from voicelog.extraction.statements.kinds import has_field, is_cue
from voicelog.extraction.statements.leads import is_clause_start, only_between
from voicelog.extraction.statements.shaping import Swallowed
from voicelog.extraction.statements.terms import FASTENERS, choose_concept, fastener_in
from voicelog.extraction.statements.walk import Walk
from voicelog.vocabulary import Concept, TermField

# Damage that has a place of its own on the item, as a tear has.
_LOCAL_DAMAGE = frozenset(
    {
        "tear", "loss", "crease", "fold", "skinned", "abrasion", "stain, unidentified",
        "water stain", "rust stain", "tape stain", "adhesive stain", "split at fold",
    }
)  # fmt: skip
_AT = frozenset({"at", "in", "on", "along", "near", "across", "to", "by"})
_BESIDE_DAMAGE = ("position", "damage_places", "degrees", "enclosed_in", "fillers")
_PARTS = frozenset({"corner", "side"})
_METAL_ITEMS = frozenset({"medal", "coin", "badge", "tintype"})


def concept_of(walk: Walk, index: int, mark: Mark) -> Concept | None:
    """Return the concept that a term mark means here, or None where it means nothing."""
    if mark.kind is not MarkKind.TERM:
        return None
    before = walk.mark(index - 1)
    after_volume_word = (
        before is not None and is_cue(before, "volume_words") and before.end == mark.first
    )
    return choose_concept(
        mark.value, in_volume=walk.speaks_of_volume(), after_volume_word=after_volume_word
    )


def take_term(walk: Walk, index: int, mark: Mark, concept: Concept) -> bool:
    """Take a vocabulary term that is no item type."""
    term = concept.term
    if term == "corroded metal" and _is_of_its_fastener(walk):
        term = "corroded fastener"
    match concept.field:
        case TermField.POSITION:
            return _take_position(walk, index, mark, term)
        case TermField.ACTION:
            return _take_action(walk, index, mark, term)
        case TermField.BINDING | TermField.SUPPORT | TermField.OVERLAY:
            volume = Target(subject=Subject.VOLUME)
            if mark.value.aside is not None:
                walk.keep(*mark.value.aside, target=volume)
            walk.say(concept.field, term, mark, target=volume)
        case _:
            said = walk.say(concept.field, term, mark)
            if term == "laid in" and _introduces_item(walk, index):
                # "there is a loose insert, a handbill"
                walk.out.pop()
                walk.waiting.append(said)
    if term == "corroded fastener":
        fastener = fastener_in(walk.tokens[slice(*mark.words)])
        if fastener:
            walk.say("attachment", fastener, mark)
    return True


def _is_of_its_fastener(walk: Walk) -> bool:
    """Whether "rusted" is said of what holds the item: paper under a paper clip can't rust."""
    for said in reversed(walk.out):
        if isinstance(said, OpenItem | PointAt):
            return False
        if isinstance(said, SetValue) and said.field == "attachment" and said.value in FASTENERS:
            return not (walk.opened and walk.opened[-1] in _METAL_ITEMS)
    return False


def _introduces_item(walk: Walk, index: int) -> bool:
    at = walk.next_meaningful(index)
    return not walk.opened and at is not None and items.opens_item(walk, at)


def counts_details(walk: Walk, index: int, mark: Mark) -> bool:
    """Whether a number counts fasteners or damages: "four photo corners", "two tears"."""
    following = walk.mark(index + 1)
    return (
        mark.kind is MarkKind.NUMBER
        and following is not None
        and following.first == mark.end
        and (
            has_field(following, TermField.ATTACHMENT) or has_field(following, TermField.CONDITION)
        )
    )


def take_verbatim(walk: Walk, mark: Mark, name: str, swallowed: Swallowed) -> bool:
    """Take the words after "caption reads" or "remark" as they are."""
    first, end = swallowed.first, swallowed.end
    spans = (walk.wording.span(first, end),) if first < end else ()
    text = spans[0].text if spans else ""
    if name == "remark":
        if text:
            walk.out.append(
                KeepWords(text=text, target=walk.target, spans=spans, replaces=walk.restates)
            )
        return True
    walk.out.append(
        WriteCaption(
            text=text,
            is_open=swallowed.is_open,
            target=walk.target,
            replaces=walk.restates,
            spans=spans or walk.spans(mark),
        )
    )
    return True


def take_enclosure(walk: Walk, index: int, mark: Mark) -> bool:
    """Take an enclosure and its number."""
    del index
    walk.say("enclosure", mark.value[0], mark)
    return True


def take_images(walk: Walk, index: int, mark: Mark) -> bool:
    """Take image numbers: the item's in the same note, else the side's."""
    del index
    said = walk.say("images", tuple(mark.value), mark)
    if walk.target.subject is Subject.NEAREST and not walk.opened:
        walk.out.pop()
        walk.waiting.append(said)
    return True


def take_date(walk: Walk, index: int, mark: Mark) -> bool:
    """Take a date; one that the calendar doesn't have goes to the remark with a doubt."""
    del index
    reading = mark.value
    if reading.edtf is None:
        walk.keep(mark.first, mark.end, doubts=reading.doubts)
        return True
    for first, end in reading.aside:
        walk.keep(first, end)
    walk.say("date", reading.edtf, mark, doubts=reading.doubts)
    return True


def take_size(walk: Walk, index: int, mark: Mark) -> bool:
    """Take a size; a thickness goes to the remark."""
    del index
    size = mark.value
    walk.say("dimensions", (size.height_mm, size.width_mm), mark, doubts=size.doubts)
    if size.thickness is not None:
        walk.keep(*size.thickness)
    return True


def take_leaves(walk: Walk, index: int, mark: Mark) -> bool:
    """Take the number of leaves of the volume."""
    del index
    if not walk.speaks_of_volume() and walk.target.subject is not Subject.LATEST:
        return False
    walk.say("leaves", mark.value, mark, target=Target(subject=Subject.VOLUME))
    return True


def take_leaf_kind(walk: Walk, index: int, mark: Mark) -> bool:
    """Keep "fold-out" and "stub" with the leaf that is one."""
    del index
    walk.keep(mark.first, mark.end, target=Target(subject=Subject.LEAF))
    return True


def take_unclear(walk: Walk, index: int, mark: Mark) -> bool:
    """Doubt what was said before a "no" that nothing follows up."""
    del index
    said = walk.wording.span(mark.first, mark.end).text
    doubt = f"it stays unclear what {said!r} takes back"
    walk.keep(mark.first, mark.end, doubts=(doubt,))
    return True


def take_aside(walk: Walk, index: int, mark: Mark) -> bool:
    """Put words into the remark that a rule sends there."""
    del index
    walk.keep(mark.first, mark.end)
    return True


def _take_action(walk: Walk, index: int, mark: Mark, term: str) -> bool:
    if term == "discarded":
        walk.say("action", term, mark)
        _keep_discarded(walk, index, mark)
        return True
    before = walk.mark(index - 1)
    if (
        term == "detached"
        and before is not None
        and has_field(before, TermField.ATTACHMENT)
        and before.end == mark.first
        and walk.word(mark.first) in {"removed", "released", "remove"}
    ):
        # "tape removed" speaks of the tape, not of the item.
        walk.keep(before.first, mark.end)
        return True
    following = walk.mark(index + 1)
    if (
        term == "detached"
        and following is not None
        and has_field(following, TermField.ATTACHMENT)
        and walk.word(mark.first) in {"removed", "remove", "removing"}
        and all(
            token.norm in {"the", "old", "its"} for token in walk.tokens[mark.end : following.first]
        )
    ):
        walk.keep(mark.first, following.end)
        return True
    walk.say("action", term, mark)
    if term == "detached":
        walk.say("adhesion", "loose", mark)
    return True


def _keep_discarded(walk: Walk, index: int, mark: Mark) -> None:
    """Keep what was discarded: the words before "discarded" in its clause, or after it."""
    first = mark.first
    while first > 0 and walk.tokens[first - 1].is_word:
        inside = walk.mark_over(first - 1)
        if inside is not None and inside.kind not in {MarkKind.TERM, MarkKind.NUMBER}:
            if not is_cue(inside, "degrees", "volume_words"):
                break
        elif inside is not None and not _may_be_discarded(inside):
            break
        first -= 1
    first, end = walk.wording.trim(first, mark.first)
    if first >= end:
        following = walk.mark(index + 1)
        end = mark.end
        while end < len(walk.tokens) and walk.tokens[end].is_word:
            end += 1
        if following is not None and following.kind is not MarkKind.TERM and following.first < end:
            end = following.first
        first, end = walk.wording.trim(mark.end, end)
    if first < end:
        walk.keep(first, end)


def _may_be_discarded(mark: Mark) -> bool:
    return mark.kind is MarkKind.NUMBER or any(
        concept.field in {TermField.ATTACHMENT, TermField.OVERLAY, TermField.SUPPORT}
        for concept in mark.value.concepts
    )


def _take_position(walk: Walk, index: int, mark: Mark, term: str) -> bool:
    if _is_damage_place(walk, index, mark):
        return False
    if not walk.has_leaf and not walk.opened:
        return False
    placed_before = any(isinstance(one, SetValue) and one.field == "position" for one in walk.out)
    said = walk.say("position", term, mark)
    at = walk.next_meaningful(index)
    if (
        at is not None
        and items.opens_item(walk, at)
        and (not walk.opened or placed_before)
        and is_clause_start(walk.tokens, mark.first, walk.marks, index)
    ):
        # "upper left, a postcard": the position waits for the item.
        walk.out.pop()
        walk.waiting.append(said)
    return True


def _is_damage_place(walk: Walk, index: int, mark: Mark) -> bool:
    """Whether a position is where the damage is: "tear at lower left"."""
    last_word = walk.word(mark.end - 1)
    at = index - 1
    while at >= 0 and is_cue(walk.marks[at], *_BESIDE_DAMAGE):
        at -= 1
    before = walk.mark(at)
    is_after_damage = (
        before is not None
        and (has_field(before, TermField.CONDITION) or has_field(before, TermField.ADHESION))
        and only_between(walk.tokens, before.end, mark.first)
    )
    if is_after_damage and before is not None:
        between = walk.tokens[before.end : mark.first]
        has_pause = any(not token.is_word for token in between)
        has_preposition = any(token.norm in _AT for token in walk.tokens[before.end : mark.end])
        return has_preposition or (not has_pause and (last_word in _PARTS or _is_local(before)))
    following = walk.mark(index + 1)
    if (
        following is None
        or following.first != mark.end
        or not has_field(following, TermField.CONDITION)
    ):
        return False
    is_on_item = (
        before is not None and has_field(before, TermField.ITEM_TYPE) and before.end == mark.first
    )
    return last_word in _PARTS or (_is_local(following) and not is_on_item)


def _is_local(mark: Mark) -> bool:
    return any(concept.term in _LOCAL_DAMAGE for concept in mark.value.concepts)
