"""Reading the marks of one note straight on, into statements."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from voicelog.domain.statement import (
    GiveOrder,
    OpenItem,
    Order,
    RepeatItem,
    Statement,
    Subject,
    Target,
)
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements import details, items, moves, relations
from voicelog.extraction.statements.kinds import SILENT, has_field, is_cue
from voicelog.extraction.statements.leads import is_continuation
from voicelog.extraction.statements.leftovers import Leftovers
from voicelog.extraction.statements.repairs import UNCLEAR
from voicelog.extraction.statements.walk import Scene, Walk
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

Handler = Callable[[Walk, int, Mark], bool]

_ORDERS = {
    "check": Order.CHECK,
    "pause": Order.PAUSE,
    "resume": Order.RESUME,
    "read_back": Order.READ_BACK,
    "close_volume": Order.CLOSE_VOLUME,
}
_CUE_HANDLERS: dict[str, Handler] = {
    "blank": moves.take_blank,
    "volume": moves.take_subject,
    "all_items": items.take_all,
    "this_item": items.take_this,
    "same": items.take_repeat,
    "same_but": items.take_repeat,
    "another_one": items.take_repeat,
    "enclosed_in": relations.take_enclosed_in,
    "leaf_kinds": details.take_leaf_kind,
    UNCLEAR: details.take_unclear,
    **dict.fromkeys(moves.SUBJECTS, moves.take_subject),
    **dict.fromkeys(relations.RELATIONS, relations.take_relation),
}
_SAID_FOR_ITSELF = frozenset({"correction", "caption_end", "repair", "undated"})


def interpret(
    tokens: Sequence[Token],
    marks: Sequence[Mark],
    start: int,
    *,
    wording: Wording,
    words: Mapping[str, frozenset[str]],
    scene: Scene,
) -> list[Statement]:
    """Return the statements of one note.

    Args:
        tokens: the note's tokens.
        marks: the shaped marks, in order.
        start: index of the first token that counts.
        wording: cuts spans out of the note.
        words: the word lists of the language ("function_words", ...).
        scene: what the running context says.
    """
    says_how_held = any(
        has_field(mark, TermField.ATTACHMENT) or has_field(mark, TermField.ADHESION)
        for mark in marks
    )
    leftovers = Leftovers(tokens, wording, words, says_how_held=says_how_held)
    walk = Walk(tokens, marks, wording, leftovers, scene, afterthoughts=words["afterthoughts"])
    walk.leftovers.begin(start)
    walk.continues = is_continuation(tokens, start, marks)
    first = next((mark for mark in marks if not is_cue(mark, *SILENT)), None)
    if first is not None and is_cue(first, "correction"):
        walk.corrects = walk.restates = True
        walk.continues = False
        walk.target = Target(subject=Subject.LATEST)
    paused = False
    moves.take_place_of_first_item(walk)
    for index, mark in enumerate(marks):
        if index in walk.claimed:
            continue
        if mark.kind is MarkKind.CUE and mark.value in {"pause", "resume"}:
            paused = mark.value == "pause"
        elif paused:
            walk.leftovers.claim(mark.first, mark.end)
            continue
        walk.leftovers.reach(mark.first)
        if walk.leads_into_item(index):
            continue  # It waits for its item; see items.take_leads.
        before = len(walk.out)
        if _take(walk, index, mark):
            _settle(walk, before, mark)
        else:
            walk.leftovers.pass_over(mark, counts=details.counts_details(walk, index, mark))
    walk.leftovers.reach(len(tokens))
    walk.out += walk.leftovers.flush(walk.target)
    walk.flush_waiting()
    return walk.out


def _take(walk: Walk, index: int, mark: Mark) -> bool:
    """Read one mark; False where it means nothing here and its words are left over."""
    if mark.kind is MarkKind.CUE:
        return _take_cue(walk, index, mark)
    handler = _HANDLERS.get(mark.kind)
    return handler is not None and handler(walk, index, mark)


def _take_cue(walk: Walk, index: int, mark: Mark) -> bool:
    if isinstance(mark.value, tuple):
        return details.take_verbatim(walk, mark, *mark.value)
    if mark.value in _ORDERS:
        walk.out.append(GiveOrder(order=_ORDERS[mark.value], spans=walk.spans(mark)))
        return True
    handler = _CUE_HANDLERS.get(mark.value)
    if handler is not None:
        return handler(walk, index, mark)
    return mark.value in _SAID_FOR_ITSELF


def _take_term(walk: Walk, index: int, mark: Mark) -> bool:
    concept = details.concept_of(walk, index, mark)
    if concept is None:
        return False
    if items.is_item_type(concept):
        return items.take_item(walk, index, mark, concept.term)
    return details.take_term(walk, index, mark, concept)


def _take_struck(walk: Walk, index: int, mark: Mark) -> bool:
    del walk, index, mark
    return True


_HANDLERS: dict[MarkKind, Handler] = {
    MarkKind.TERM: _take_term,
    MarkKind.PLACE: moves.take_place,
    MarkKind.STEP: moves.take_step,
    MarkKind.RANGE: moves.take_range,
    MarkKind.ACCESSION: moves.take_accession,
    MarkKind.VOLUME: moves.take_volume,
    MarkKind.ENCLOSURE: details.take_enclosure,
    MarkKind.IMAGES: details.take_images,
    MarkKind.DATE: details.take_date,
    MarkKind.SIZE: details.take_size,
    MarkKind.LEAVES: details.take_leaves,
    MarkKind.ASIDE: details.take_aside,
    MarkKind.ORDINAL: items.take_ordinal,
    MarkKind.NUMBER: items.take_number,
    MarkKind.STRUCK: _take_struck,
}


def _settle(walk: Walk, before: int, mark: Mark) -> None:
    """Put the words left over in front of what was just said."""
    opens = any(isinstance(one, OpenItem | RepeatItem) for one in walk.out[before:])
    kept = walk.leftovers.flush(walk.target, before=mark)
    if opens and walk.leftovers.touched:
        # "a lovely postcard": the words lead into the item and belong to it.
        walk.out += kept
    else:
        walk.out[before:before] = kept
    walk.leftovers.claim(mark.first, mark.end)
