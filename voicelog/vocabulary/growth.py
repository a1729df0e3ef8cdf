"""What a vocabulary gains by new concepts, worked out before anything is written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from voicelog.vocabulary.combining import combine, find_problems
from voicelog.vocabulary.concepts import Concept
from voicelog.vocabulary.term_lists import Problem, TermList


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What one concept brings.

    Attributes:
        part: the concept, or what it adds to one that is there: new variants and cautions.
        is_new: whether there was no such concept.
        overruled: the facts in which it differs from the concept that stays as it is.
    """

    part: Concept
    is_new: bool
    overruled: tuple[str, ...] = ()

    @property
    def adds(self) -> bool:
        """Whether anything is added at all."""
        return self.is_new or bool(self.part.variants or self.part.cautions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """What a vocabulary gains by a list of concepts, or why it can't take them.

    Attributes:
        gains: one for each concept, in the list's order.
        problems: what is wrong with the list, alone or beside the vocabulary.
    """

    gains: tuple[Gain, ...]
    problems: tuple[Problem, ...]


def plan_growth(
    present: Sequence[TermList], incoming: TermList, *, cautions: Collection[str]
) -> Growth:
    """Work out what a vocabulary gains by one more list.

    Args:
        present: the lists that the vocabulary is made of.
        incoming: the new list.
        cautions: the ids of the cautions there are.
    """
    there = {(concept.field, concept.id): concept for concept in combine(present)}
    gains = tuple(
        _weigh(there.get((concept.field, concept.id)), concept) for concept in incoming.concepts
    )
    problems = find_problems((*present, incoming), cautions=cautions)
    return Growth(
        gains=gains,
        problems=tuple(problem for problem in problems if problem.origin == incoming.origin),
    )


def added(gains: Iterable[Gain]) -> Iterator[Concept]:
    """Yield the concepts, or parts of concepts, that are to be written."""
    return (gain.part for gain in gains if gain.adds)


def _weigh(present: Concept | None, wanted: Concept) -> Gain:
    if present is None:
        return Gain(part=wanted, is_new=True)
    heard = present.wordings()
    # A variant that is only another spelling or plural of a known one brings nothing.
    fresh = tuple(
        form
        for form in wanted.variants
        if not replace(wanted, term=form, variants=()).wordings() <= heard
    )
    cautions = tuple(one for one in wanted.cautions if one not in present.cautions)
    return Gain(
        part=Concept(
            id=present.id,
            field=present.field,
            term=present.term,
            variants=fresh,
            cautions=cautions,
        ),
        is_new=False,
        overruled=tuple(_find_overruled(present, wanted)),
    )


def _find_overruled(present: Concept, wanted: Concept) -> Iterator[str]:
    if wanted.definition and wanted.definition != present.definition:
        yield "definition"
    if wanted.authority and wanted.authority != present.authority:
        yield "authority"
