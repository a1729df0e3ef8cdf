"""The vocabulary: concepts, the terms that rows use, and what people also say."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from importlib import resources

from voicelog.vocabulary.inflection import plural_forms, spelling_variants

MOST_LEARNT = 20
"""Learnt words that a recogniser is told; a long list of hot words makes it worse."""
_SAID = re.compile(r"[\w'&]+")


class TermField(StrEnum):
    """The entry field that a concept can fill."""

    ITEM_TYPE = "item_type"
    ATTACHMENT = "attachment"
    ADHESION = "adhesion"
    CONDITION = "condition"
    ACTION = "action"
    ENCLOSURE = "enclosure"
    POSITION = "position"
    BINDING = "binding"
    SUPPORT = "support"
    OVERLAY = "overlay"


FIELDS_WITH_PLURALS = frozenset(
    {TermField.ITEM_TYPE, TermField.ATTACHMENT, TermField.ENCLOSURE, TermField.SUPPORT}
)


class AuthorityMatch(StrEnum):
    """How near the concept of a published authority is; the words are those of SKOS.

    SKOS Reference (W3C Recommendation, 18 August 2009), section 10.
    """

    EXACT = "exact"
    CLOSE = "close"
    BROAD = "broad"


@dataclass(frozen=True, slots=True, kw_only=True)
class Concept:
    """One thing that can be said about an object, whatever words are used.

    Attributes:
        id: permanent identifier, unique within its field.
        field: the entry field that it fills.
        term: the preferred term, as rows show it.
        variants: what people also say, and inflected forms.
        definition: one sentence.
        authority: link to a published authority where one was seen, or None.
        authority_match: whether the authority's concept is the same, near, or broader.
        cautions: ids of the cautions that apply.
    """

    id: str
    field: TermField
    term: str
    variants: tuple[str, ...] = ()
    definition: str = ""
    authority: str | None = None
    authority_match: AuthorityMatch = AuthorityMatch.EXACT
    cautions: tuple[str, ...] = ()

    def forms(self) -> tuple[str, ...]:
        """Return every wording that means this concept, plurals and both spellings included."""
        said: dict[str, None] = {}
        for form in (self.term, *self.variants):
            for spelling in spelling_variants(form):
                said[spelling] = None
                if self.field in FIELDS_WITH_PLURALS:
                    said.update(dict.fromkeys(plural_forms(spelling)))
        return tuple(said)

    def wordings(self) -> frozenset[str]:
        """Return what is heard of its forms; two concepts of a field must not share one."""
        return frozenset(heard_of(form) for form in self.forms())


def heard_of(form: str) -> str:
    """Return what is heard of a form: its words, without signs and capitals.

    >>> heard_of("Adhesive, unidentified"), heard_of("pin-back")
    ('adhesive unidentified', 'pin back')
    """
    return " ".join(_SAID.findall(form.casefold().replace("’", "'").replace("_", " ")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A hazard to people or the object, and the usual words about it.

    Attributes:
        id: permanent identifier.
        title: the hazard in a few words.
        wording: the usual words; they end with the closing sentence of all cautions.
        restricts_access: whether access waits until somebody decides.
        calls_for_isolation: whether the object is usually set apart, or shown to a
            conservator, before anything else is done.
    """

    id: str
    title: str
    wording: str
    restricts_access: bool = False
    calls_for_isolation: bool = False


@dataclass(frozen=True)
class Vocabulary:
    """All concepts and cautions that one log is read with.

    Attributes:
        concepts: the concepts of all fields.
        cautions: the cautions by their ids.
        learnt: words that reviewers had to put right, the latest first.
    """

    concepts: tuple[Concept, ...]
    cautions: Mapping[str, Caution]
    learnt: tuple[str, ...] = ()

    def find(self, field: TermField, term: str) -> Concept | None:
        """Return the concept with this preferred term, or None."""
        return self._by_term.get((field, term))

    def of_field(self, field: TermField) -> Iterator[Concept]:
        """Yield the concepts of one field in their file's order."""
        return (concept for concept in self.concepts if concept.field is field)

    def hot_words(self) -> tuple[str, ...]:
        """Return what a recogniser should be told to expect, the most important first."""
        text = (resources.files("voicelog.vocabulary") / "hot_words.toml").read_text("utf-8")
        words: list[str] = tomllib.loads(text)["words"]
        return tuple(dict.fromkeys((*self.learnt[:MOST_LEARNT], *words)))

    @cached_property
    def _by_term(self) -> dict[tuple[TermField, str], Concept]:
        return {(concept.field, concept.term): concept for concept in self.concepts}
