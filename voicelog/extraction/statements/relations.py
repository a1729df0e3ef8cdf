"""How one item lies to another: "behind the postcard", "with a flower inside it"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voicelog.domain.entry import RelationKind
from voicelog.domain.statement import NEAREST, SayRelation, Subject
from voicelog.extraction.marks import Mark
from voicelog.extraction.statements import details, items
from voicelog.extraction.statements.kinds import has_field
from voicelog.extraction.statements.leads import determiner_before, only_between
from voicelog.extraction.statements.walk import Walk
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

RELATIONS = {
    "inside": RelationKind.INSIDE,
    "contains": RelationKind.INSIDE,
    "behind": RelationKind.BEHIND,
    "under": RelationKind.UNDER,
    "overlapping": RelationKind.OVERLAPPING,
    "attached_to": RelationKind.ATTACHED_TO,
    "belongs_with": RelationKind.BELONGS_WITH,
}


# Words that only lead up to a relation: "a card tucked behind the menu".
_LYING = frozenset({"tucked", "slipped", "lying", "hidden", "found", "placed", "sitting", "partly"})


def take_relation(walk: Walk, index: int, mark: Mark) -> bool:
    """Read a relation, whichever of the two items is named last.

    - "behind the postcard": the item spoken of lies behind one named before.
    - "a photo in an envelope", "a photo behind a ticket": it lies behind a new one.
    - "behind it, a ticket": the new one lies behind the item before.
    - "a letter, a ticket behind it": the one just named lies behind the one before.
    """
    kind = RELATIONS[mark.value]
    while walk.word(mark.first - 1) in _LYING:
        mark = replace(mark, first=mark.first - 1)
    walk.leftovers.claim(mark.first, mark.end)
    at = _next_item(walk, index)
    says_it = walk.word(mark.end) == "it" or any(
        token.norm in {"it", "that", "its"} for token in walk.tokens[mark.first : mark.end]
    )
    if at is None or not _is_named_here(walk, at, mark):
        return _without_name(walk, mark, kind, says_it=says_it)
    just_opened = _has_just_opened(walk, index, mark)
    if says_it:
        has_pause = not all(token.is_word for token in _between(walk, mark, at))
        if just_opened and len(walk.known_types) > 1 and (has_pause or _starts_anew(walk, at)):
            return _without_name(walk, mark, kind, says_it=True)
        return _open_and_relate(walk, mark, at, SayRelation(kind=kind, spans=walk.spans(mark)))
    return _with_name(walk, mark, at, kind)


def take_enclosed_in(walk: Walk, index: int, mark: Mark) -> bool:
    """Read "in its envelope" as lying inside an item of its own."""
    at = _next_item(walk, index)
    if at is None or walk.word(mark.end - 1) not in {"in", "into"} or not walk.opened:
        return False
    following = walk.marks[at]
    is_owned = walk.word(mark.end) in {"its", "an", "a", "their"}
    concept = details.concept_of(walk, at, following)
    if not is_owned or following.first != mark.end + 1 or concept is None:
        return False
    if concept.term != "envelope":
        return False
    items.open_item(walk, at, following, concept.term)
    walk.out.append(
        SayRelation(kind=RelationKind.INSIDE, is_from_previous=True, spans=walk.spans(following))
    )
    walk.claimed.add(at)
    walk.leftovers.claim(mark.first, following.end)
    return True


def _next_item(walk: Walk, index: int) -> int | None:
    at = walk.next_meaningful(index)
    while at is not None and walk.leads_into_item(at):
        at = walk.next_meaningful(at)
    return at


def _start(walk: Walk, at: int) -> int:
    lead = walk.lead(at)
    return walk.marks[lead[0]].first if lead else walk.marks[at].first


def _between(walk: Walk, mark: Mark, at: int) -> Sequence[Token]:
    return walk.tokens[mark.end : _start(walk, at)]


def _is_named_here(walk: Walk, at: int, mark: Mark) -> bool:
    following = walk.marks[at]
    return has_field(following, TermField.ITEM_TYPE) and only_between(
        walk.tokens, mark.end, _start(walk, at), loosely=True
    )


def _has_just_opened(walk: Walk, index: int, mark: Mark) -> bool:
    """Whether the words right before the relation have named an item."""
    before = walk.mark(index - 1)
    return (
        bool(walk.opened)
        and before is not None
        and has_field(before, TermField.ITEM_TYPE)
        and all(
            token.norm in {"is", "partly", "just", "tucked", "lying", "hidden", "slipped"}
            for token in walk.tokens[before.end : mark.first]
        )
    )


def _starts_anew(walk: Walk, at: int) -> bool:
    return any(
        token.norm == "and" for token in walk.tokens[_start(walk, at) - 2 : _start(walk, at)]
    )


def _without_name(walk: Walk, mark: Mark, kind: RelationKind, *, says_it: bool) -> bool:
    """Relate the item just named to the one before it."""
    if not (walk.opened or walk.known_types):
        return False
    if says_it or (walk.opened and mark.end == len(walk.tokens)):
        walk.out.append(SayRelation(kind=kind, spans=walk.spans(mark)))
        if walk.word(mark.end) == "it":
            walk.leftovers.claim(mark.end, mark.end + 1)
        return True
    if kind is RelationKind.OVERLAPPING:
        walk.say("position", "overlapping", mark)
        return True
    return False


def _with_name(walk: Walk, mark: Mark, at: int, kind: RelationKind) -> bool:
    following = walk.marks[at]
    concept = details.concept_of(walk, at, following)
    if concept is None:
        return False
    lead = walk.lead(at)
    between = [token.norm for token in _between(walk, mark, at)]
    determiner = determiner_before(walk.tokens, _start(walk, at))
    is_direct = not set(between) & {",", "is", "'s", "are", "there", "one"}
    is_known = concept.term in walk.known_types
    if mark.value == "contains":
        return _open_and_relate(walk, mark, at, SayRelation(kind=kind, spans=walk.spans(mark)))
    if determiner == "definite" or (determiner is None and is_direct and is_known and not lead):
        newcomer = _next_item(walk, at)
        if not walk.opened and newcomer is not None and _follows(walk, following, newcomer):
            # "inside the letter there is a pressed flower"
            walk.claimed.update({at, *lead})
            walk.leftovers.claim(mark.end, following.end)
            return _open_and_relate(
                walk,
                mark,
                newcomer,
                SayRelation(
                    kind=kind,
                    to_type=concept.term,
                    spans=(walk.wording.span(mark.first, following.end),),
                ),
            )
        target = walk.target if walk.target.subject is Subject.ITEM else NEAREST
        walk.out.append(
            SayRelation(
                kind=kind,
                to_type=concept.term,
                target=target,
                spans=(walk.wording.span(mark.first, following.end),),
            )
        )
        walk.claimed.update({at, *lead})
        walk.leftovers.claim(mark.end, following.end)
        return True
    follows_pause = mark.first > 0 and not walk.tokens[mark.first - 1].is_word
    is_from_previous = is_direct and bool(walk.opened) and not follows_pause
    return _open_and_relate(
        walk,
        mark,
        at,
        SayRelation(kind=kind, is_from_previous=is_from_previous, spans=walk.spans(mark)),
    )


def _follows(walk: Walk, following: Mark, newcomer: int) -> bool:
    new = walk.marks[newcomer]
    return (
        has_field(new, TermField.ITEM_TYPE)
        and only_between(walk.tokens, following.end, _start(walk, newcomer), loosely=True)
        and determiner_before(walk.tokens, _start(walk, newcomer)) != "definite"
    )


def _open_and_relate(walk: Walk, mark: Mark, at: int, relation: SayRelation) -> bool:
    """Open the item at ``at``, then say how it lies."""
    following = walk.marks[at]
    concept = details.concept_of(walk, at, following)
    if concept is None:
        return False
    items.open_item(walk, at, following, concept.term)
    walk.claimed.add(at)
    walk.leftovers.claim(mark.end, following.end)
    walk.out.append(relation)
    return True
