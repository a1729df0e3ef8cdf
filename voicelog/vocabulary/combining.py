"""Putting term lists together, and what is wrong when they meet.

A list can add concepts of its own, and it can add to a concept that an earlier list
brought: a row with the same field, id and term adds its variants and cautions.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from voicelog.vocabulary.concepts import Concept, TermField
from voicelog.vocabulary.term_lists import Problem, TermList

Key = tuple[TermField, str]
_NAMED_AT_ONCE = 3


def combine(lists: Sequence[TermList]) -> tuple[Concept, ...]:
    """Return the concepts of all lists, each once, with what later lists add to it."""
    combined: dict[Key, Concept] = {}
    for term_list in lists:
        for concept in term_list.concepts:
            key = (concept.field, concept.id)
            earlier = combined.get(key)
            combined[key] = concept if earlier is None else _add_to(earlier, concept)
    return tuple(combined.values())


def find_problems(lists: Sequence[TermList], *, cautions: Collection[str]) -> Iterator[Problem]:
    """Yield everything that is wrong with these lists, alone and together.

    Args:
        lists: voicelog's own lists first; where two lists disagree, the later one is named.
        cautions: the ids of the cautions there are.
    """
    for term_list in lists:
        yield from term_list.problems
        yield from _find_unknown_cautions(term_list, cautions)
    yield from _find_shared_ids(lists)
    yield from _find_collisions(lists)
    yield from _find_undefined(lists)


def _add_to(earlier: Concept, later: Concept) -> Concept:
    known = (earlier.term, *earlier.variants)
    return replace(
        earlier,
        variants=(*earlier.variants, *(form for form in later.variants if form not in known)),
        definition=earlier.definition or later.definition,
        authority=earlier.authority or later.authority,
        authority_match=(earlier if earlier.authority else later).authority_match,
        cautions=tuple(dict.fromkeys((*earlier.cautions, *later.cautions))),
    )


def _find_unknown_cautions(term_list: TermList, known: Collection[str]) -> Iterator[Problem]:
    for concept in term_list.concepts:
        for caution in concept.cautions:
            if caution not in known:
                yield Problem(
                    origin=term_list.origin,
                    message=(
                        f"{concept.term!r} names the caution {caution!r}, which there is not; "
                        f"it is one of {', '.join(sorted(known))}."
                    ),
                )


def _find_shared_ids(lists: Sequence[TermList]) -> Iterator[Problem]:
    owner: dict[Key, tuple[Concept, TermList]] = {}
    for term_list in lists:
        for concept in term_list.concepts:
            first, its_list = owner.setdefault((concept.field, concept.id), (concept, term_list))
            if first is concept:
                continue
            if first.term != concept.term:
                yield Problem(
                    origin=term_list.origin,
                    message=(
                        f"the id {concept.id!r} of {concept.term!r} is taken by {first.term!r} "
                        f"({its_list.origin}) in {concept.field}; give it another."
                    ),
                )
            elif its_list is term_list:
                yield Problem(
                    origin=term_list.origin,
                    message=f"{concept.term!r} stands there twice; make it one concept.",
                )


def _find_collisions(lists: Sequence[TermList]) -> Iterator[Problem]:
    owner: dict[tuple[TermField, str], tuple[Concept, TermList]] = {}
    for term_list in lists:
        for concept in term_list.concepts:
            shared: dict[str, tuple[list[str], Concept, TermList]] = {}
            for wording in sorted(concept.wordings()):
                first, its_list = owner.setdefault((concept.field, wording), (concept, term_list))
                if first.id != concept.id:
                    shared.setdefault(first.id, ([], first, its_list))[0].append(wording)
            for wordings, first, its_list in shared.values():
                yield Problem(
                    origin=term_list.origin,
                    message=(
                        f"{_name_some(wordings)} would stand for both {first.term!r} "
                        f"({its_list.origin}) and {concept.term!r} in {concept.field}; "
                        "take it from one of them."
                    ),
                )


def _find_undefined(lists: Sequence[TermList]) -> Iterator[Problem]:
    defined = {(concept.field, concept.id) for concept in combine(lists) if concept.definition}
    for term_list in lists:
        for concept in term_list.concepts:
            if (concept.field, concept.id) not in defined:
                yield Problem(
                    origin=term_list.origin,
                    message=f"{concept.term!r} has no definition; say in one sentence what it is.",
                    is_grave=False,
                )


def _name_some(wordings: Sequence[str]) -> str:
    named = ", ".join(repr(wording) for wording in wordings[:_NAMED_AT_ONCE])
    left = len(wordings) - _NAMED_AT_ONCE
    return f"{named} and {left} more" if left > 0 else named
