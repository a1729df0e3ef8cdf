"""How one item lies to another: "behind the postcard", "with a flower inside it"."""

from __future__ import annotations

from voicelog.domain.entry import RelationKind
from voicelog.domain.statement import SayRelation
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements import details, items
from voicelog.extraction.statements.leads import determiner_before, only_between
from voicelog.extraction.statements.shaping import has_field
from voicelog.extraction.statements.walk import Walk
from voicelog.vocabulary import TermField

RELATIONS = {
    "inside": RelationKind.INSIDE,
    "behind": RelationKind.BEHIND,
    "under": RelationKind.UNDER,
    "overlapping": RelationKind.OVERLAPPING,
    "attached_to": RelationKind.ATTACHED_TO,
    "belongs_with": RelationKind.BELONGS_WITH,
}


def take_relation(walk: Walk, index: int, mark: Mark) -> bool:
    """Read a relation, whichever of the two items is named last.

    "behind the postcard" names the other item; "behind it, a ticket" opens the one that
    lies behind; "a ticket behind it" has opened it already.
    """
    kind = RELATIONS[mark.value]
    at = walk.next_meaningful(index)
    while at is not None and walk.leads_into_item(at):
        at = walk.next_meaningful(at)
    speaks_of_it = walk.word(mark.end) == "it" or walk.word(mark.end - 1) in {"it", "that"}
    if at is not None and _names_item(walk, at, mark):
        return _with_named(walk, mark, kind, at, speaks_of_it=speaks_of_it)
    if not (walk.opened or walk.known_types):
        return False
    if speaks_of_it or (walk.opened and mark.end == len(walk.tokens)):
        walk.out.append(SayRelation(kind=kind, spans=walk.spans(mark)))
        if walk.word(mark.end) == "it":
            walk.leftovers.claim(mark.end, mark.end + 1)
        return True
    if kind is RelationKind.OVERLAPPING:
        walk.say("position", "overlapping", mark)
        return True
    return False


def take_enclosed_in(walk: Walk, index: int, mark: Mark) -> bool:
    """Read "in its envelope" as lying inside an item of its own."""
    at = walk.next_meaningful(index)
    if at is None or walk.word(mark.end - 1) not in {"in", "into"} or not walk.opened:
        return False
    following = walk.marks[at]
    is_owned = (
        walk.word(mark.end) in {"its", "an", "a", "their"} and following.first == mark.end + 1
    )
    if not is_owned or not has_field(following, TermField.ITEM_TYPE):
        return False
    concept = details.concept_of(walk, at, following)
    if concept is None or concept.term != "envelope":
        return False
    walk.out.append(
        SayRelation(kind=RelationKind.INSIDE, opens_type=concept.term, spans=walk.spans(following))
    )
    walk.claimed.add(at)
    walk.leftovers.claim(mark.first, following.end)
    return True


def _with_named(walk: Walk, mark: Mark, kind: RelationKind, at: int, *, speaks_of_it: bool) -> bool:
    following = walk.marks[at]
    lead = walk.lead(at)
    start = walk.marks[lead[0]].first if lead else following.first
    determiner = determiner_before(walk.tokens, start)
    has_number = any(walk.marks[one].kind is MarkKind.NUMBER for one in lead)
    concept = details.concept_of(walk, at, following)
    if concept is None:
        return False
    is_other = determiner == "definite" or (
        determiner is None and not has_number and bool(walk.opened) and not speaks_of_it
    )
    if is_other:
        walk.out.append(SayRelation(kind=kind, to_type=concept.term, spans=walk.spans(mark)))
        walk.claimed.update({at, *lead})
        walk.leftovers.claim(mark.end, following.end)
        return True
    walk.continues = False
    if not items.take_item(walk, at, following, concept.term):
        return False
    walk.claimed.add(at)
    walk.leftovers.claim(mark.end, following.end)
    walk.out.append(SayRelation(kind=kind, spans=walk.spans(mark)))
    return True


def _names_item(walk: Walk, at: int, mark: Mark) -> bool:
    following = walk.marks[at]
    if not has_field(following, TermField.ITEM_TYPE):
        return False
    lead = walk.lead(at)
    start = walk.marks[lead[0]].first if lead else following.first
    return only_between(walk.tokens, mark.end, start, loosely=True)
