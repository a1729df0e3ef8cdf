"""Items: opened, spoken of again, counted, repeated."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.domain.statement import (
    NEAREST,
    CorrectItem,
    OpenItem,
    PointAt,
    RepeatItem,
    Subject,
    Target,
)
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements import details
from voicelog.extraction.statements.kinds import has_field, is_cue
from voicelog.extraction.statements.leads import determiner_before, only_between
from voicelog.extraction.statements.walk import Walk
from voicelog.vocabulary import Concept, TermField

# After these a type is part of a description: "photo of the ticket office".
_DESCRIBING = frozenset({"of", "for", "from", "about", "showing", "depicting", "like"})
_GOES_ON = frozenset({"and", "with", "but", "in", "on", "at", "both", "also", "then", "only"})
_ADDING = frozenset({"and", "with", "plus"})
_REFERRING = _DESCRIBING | {"on", "to", "by", "off", "against", "beside", "near"}
_ARTICLES = frozenset({"the", "a", "an", "his", "her", "their", "its", "this", "that", "our"})


def is_item_type(concept: Concept) -> bool:
    """Whether a concept is a type of item."""
    return concept.field is TermField.ITEM_TYPE


def take_item(walk: Walk, index: int, mark: Mark, term: str) -> bool:
    """Open an item, or speak of one again, by its type."""
    if _describes(walk, mark, term):
        return False
    lead = walk.lead(index)
    start = walk.marks[lead[0]].first if lead else mark.first
    determiner = determiner_before(walk.tokens, start)
    number = _number_in(walk, lead)
    if walk.corrects or walk.restates:
        walk.out.append(
            CorrectItem(
                item_type=(term,),
                quantity=number.value if number else None,
                counted=walk.spans(number) if number else (),
                spans=walk.spans(mark),
            )
        )
        take_leads(walk, lead)
        return True
    is_bare = determiner is None and number is None
    if is_bare and _is_afterthought(walk, index, mark, term):
        take_leads(walk, lead)
        return True
    is_known = term in walk.known_types
    is_owned = walk.word(start - 1) in {"its", "their"}
    if is_owned and not is_known and walk.opened and walk.word(start - 2) in _ADDING:
        open_item(walk, index, mark, term)  # "a letter and its envelope"
        return True
    if not is_known and ((walk.continues and is_bare) or is_owned):
        return False  # A continuation opens nothing; the words are kept.
    if determiner == "definite" or (walk.continues and is_bare):
        is_all = walk.target.subject is Subject.ALL
        also = _named_before(walk, start)
        walk.target = Target(
            subject=Subject.ALL if is_all else Subject.ITEM, item_type=term, also=also
        )
        walk.out.append(PointAt(target=walk.target, spans=walk.spans(mark)))
        if not is_known:
            walk.known_types.append(term)
        take_leads(walk, lead)
        return True
    open_item(walk, index, mark, term)
    return True


def open_item(walk: Walk, index: int, mark: Mark, term: str) -> None:
    """Open an item with the number and the adjectives that lead into it."""
    lead = walk.lead(index)
    number = _number_in(walk, lead)
    walk.continues = False
    walk.target = NEAREST
    walk.out.append(
        OpenItem(
            item_type=(term,),
            quantity=number.value if number else 1,
            counted=walk.spans(number) if number else (),
            spans=walk.spans(mark),
            doubts=walk.guesses(mark),
        )
    )
    walk.opened.append(term)
    walk.known_types.append(term)
    take_leads(walk, lead)
    walk.flush_waiting(to_item=True)


def _is_afterthought(walk: Walk, index: int, mark: Mark, term: str) -> bool:
    """Whether the words say of what kind the item just named is: "a badge, pin-back"."""
    said = _norms(walk, mark)
    if said not in walk.afterthoughts:
        return False
    named = [one for one in walk.marks[:index] if has_field(one, TermField.ITEM_TYPE)]
    is_spoken_of = walk.opened[-1:] == [term] or walk.target.item_type == term
    return is_spoken_of and bool(named) and _norms(walk, named[-1]) != said


def _norms(walk: Walk, mark: Mark) -> str:
    return " ".join(token.norm for token in walk.tokens[mark.first : mark.end])


def _number_in(walk: Walk, lead: Sequence[int]) -> Mark | None:
    return next((walk.marks[at] for at in lead if walk.marks[at].kind is MarkKind.NUMBER), None)


def _named_before(walk: Walk, start: int) -> tuple[str, ...]:
    """Return the types named just before in "the greeting card and the napkin are loose"."""
    before = walk.out[-1] if walk.out else None
    if not isinstance(before, PointAt) or before.target.item_type is None:
        return ()
    at = start - 1
    while walk.word(at) in _ARTICLES | {"and", ","}:
        at -= 1
    is_adjacent = (
        walk.word(at + 1) in {"and", ","} and before.spans[-1].last == walk.tokens[at].last
    )
    return (*before.target.also, before.target.item_type) if is_adjacent else ()


def take_leads(walk: Walk, lead: Sequence[int]) -> None:
    """Give the adjectives that led into an item to it."""
    for at in lead:
        walk.claimed.add(at)
        mark = walk.marks[at]
        walk.leftovers.claim(mark.first, mark.end)
        match mark.kind:
            case MarkKind.DATE:
                details.take_date(walk, at, mark)
            case MarkKind.SIZE:
                details.take_size(walk, at, mark)
            case MarkKind.TERM:
                concept = details.concept_of(walk, at, mark)
                if concept is not None:
                    details.take_term(walk, at, mark, concept)
            case _:
                pass


def take_ordinal(walk: Walk, index: int, mark: Mark) -> bool:
    """Speak of an item by its order: "the third one", "the second postcard"."""
    following = walk.mark(index + 1)
    if following and following.first == mark.end and has_field(following, TermField.ITEM_TYPE):
        concept = details.concept_of(walk, index + 1, following)
        if concept is None:
            return False
        walk.target = Target(subject=Subject.ITEM, item_type=concept.term, ordinal=mark.value)
        walk.out.append(PointAt(target=walk.target, spans=walk.spans(following)))
        walk.claimed.add(index + 1)
        walk.leftovers.claim(mark.first, following.end)
        return True
    if walk.word(mark.end) in {"one", "item"}:
        walk.target = Target(subject=Subject.ITEM, ordinal=mark.value)
        walk.leftovers.claim(mark.first, mark.end + 1)
        return True
    before = walk.mark(index - 1)
    stands_alone = walk.word(mark.end) in {"is", "has", "was", ",", "torn", "faded"}
    if walk.word(mark.first - 1) == "the" and stands_alone and (walk.known_types or before):
        walk.target = Target(subject=Subject.ITEM, ordinal=mark.value)
        return True
    return False


def take_number(walk: Walk, index: int, mark: Mark) -> bool:
    """Take a number said alone in a correction as the number of pieces."""
    is_alone = walk.next_meaningful(index) is None and mark.end == len(walk.tokens)
    if not (walk.corrects or walk.restates) or not is_alone:
        return False
    walk.out.append(
        CorrectItem(quantity=mark.value, counted=walk.spans(mark), spans=walk.spans(mark))
    )
    return True


def take_all(walk: Walk, index: int, mark: Mark) -> bool:
    """Speak of all items: "both", "each of them"."""
    if index + 1 >= len(walk.marks) and mark.end >= len(walk.tokens):
        return False
    walk.target = Target(subject=Subject.ALL)
    return True


def take_this(walk: Walk, index: int, mark: Mark) -> bool:
    """Speak of the latest item: "this one"."""
    del index, mark
    walk.target = NEAREST
    return True


def take_repeat(walk: Walk, index: int, mark: Mark) -> bool:
    """Repeat an item: "another one, the same", "the same but torn"."""
    name = mark.value
    following = walk.mark(index + 1)
    if name == "another_one" and following is not None:
        if following.first == mark.end and (
            has_field(following, TermField.ITEM_TYPE) or walk.leads_into_item(index + 1)
        ):
            return True  # "another postcard": the type opens it.
        if is_cue(following, "same", "same_but") and only_between(
            walk.tokens, mark.end, following.first
        ):
            return True
    if name == "another_one" and mark.end - mark.first == 1:
        return False
    next_word = walk.word(mark.end)
    is_marked = (
        following is not None
        and following.first == mark.end
        and following.kind is not MarkKind.CUE
        and not has_field(following, TermField.ITEM_TYPE)
    )
    if walk.word(mark.first - 1) in {"on", "in", "at", "of", "from", "with", "by", "to"}:
        return False  # "on the same page"
    if name == "same" and next_word[:1].isalpha() and not is_marked and next_word not in _GOES_ON:
        return False  # "the same hand" is no repetition.
    before = walk.mark(index - 1)
    number = before if before is not None and before.kind is MarkKind.NUMBER else None
    if number is not None:
        walk.leftovers.claim(number.first, number.end)
    walk.out.append(
        RepeatItem(
            quantity=number.value if number else 1,
            counted=walk.spans(number) if number else (),
            copies_all=name != "another_one",
            spans=walk.spans(mark),
        )
    )
    walk.opened.append("")
    walk.target = NEAREST
    walk.restates = name == "same_but"
    return True


def opens_item(walk: Walk, index: int) -> bool:
    """Whether the mark at ``index`` begins the naming of a new item."""
    mark = walk.marks[index]
    if has_field(mark, TermField.ITEM_TYPE):
        return determiner_before(walk.tokens, mark.first) != "definite"
    return walk.leads_into_item(index)


def _describes(walk: Walk, mark: Mark, term: str) -> bool:
    """Whether the type is part of a description: "offset from the clipping"."""
    at = mark.first - 1
    has_article = False
    while at > 0 and walk.word(at) in _ARTICLES:
        has_article = True
        at -= 1
    if walk.word(at) in _DESCRIBING and (walk.opened or walk.leftovers.is_pending):
        return True
    if walk.word(at) in _REFERRING and has_article and term not in walk.known_types:
        return True
    return walk.leftovers.is_pending and bool(walk.opened) and not has_article and at >= 0
