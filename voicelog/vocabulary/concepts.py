"""The vocabulary: concepts, the terms that rows use, and what people also say."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from voicelog.errors import VocabularyError
from voicelog.vocabulary.inflection import plural_forms, spelling_variants


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
        cautions: ids of the cautions that apply.
    """

    id: str
    field: TermField
    term: str
    variants: tuple[str, ...] = ()
    definition: str = ""
    authority: str | None = None
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A hazard to people or the object, and the usual words about it."""

    id: str
    title: str
    wording: str
    restricts_access: bool = False


@dataclass(frozen=True)
class Vocabulary:
    """All concepts and cautions that one log is read with."""

    concepts: tuple[Concept, ...]
    cautions: Mapping[str, Caution]

    def find(self, field: TermField, term: str) -> Concept | None:
        """Return the concept with this preferred term, or None."""
        return self._by_term.get((field, term))

    def of_field(self, field: TermField) -> Iterator[Concept]:
        """Yield the concepts of one field in their file's order."""
        return (concept for concept in self.concepts if concept.field is field)

    def hot_words(self) -> tuple[str, ...]:
        """Return the preferred terms, for a recogniser that can be told what to expect."""
        return tuple(dict.fromkeys(concept.term for concept in self.concepts))

    @cached_property
    def _by_term(self) -> dict[tuple[TermField, str], Concept]:
        return {(concept.field, concept.term): concept for concept in self.concepts}


class _ConceptRow(BaseModel):
    model_config = ConfigDict(extra="forbid")

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    term: str = Field(min_length=1)
    variants: list[str] = []
    definition: str = ""
    authority: str | None = None
    cautions: list[str] = []


class _TermsFile(BaseModel):
    model_config = ConfigDict(extra="forbid")

    field: TermField
    concept: list[_ConceptRow]


class _CautionRow(BaseModel):
    model_config = ConfigDict(extra="forbid")

    id: str
    title: str
    wording: str
    restricts_access: bool = False


class _CautionsFile(BaseModel):
    model_config = ConfigDict(extra="forbid")

    closing: str
    caution: list[_CautionRow]


def load_vocabulary(*extra_paths: Path) -> Vocabulary:
    """Return voicelog's own vocabulary, with a repository's files added.

    Args:
        extra_paths: term files of the repository, in the form of ``vocabulary/terms``.

    Raises:
        VocabularyError: a file can't be read, or one wording stands for two concepts
            of the same field; both are named.
    """
    folder = resources.files("voicelog.vocabulary")
    shipped = sorted(
        (item for item in (folder / "terms").iterdir() if item.name.endswith(".toml")),
        key=lambda item: item.name,
    )
    concepts: list[Concept] = []
    for item in shipped:
        concepts += parse_terms(item.read_text(encoding="utf-8"), origin=item.name)
    for path in extra_paths:
        concepts += read_terms(path)
    check_collisions(concepts)
    cautions = _CautionsFile.model_validate(
        tomllib.loads((folder / "cautions.toml").read_text(encoding="utf-8"))
    )
    return Vocabulary(
        concepts=tuple(concepts),
        cautions={
            row.id: Caution(
                id=row.id,
                title=row.title,
                wording=f"{row.wording} {cautions.closing}",
                restricts_access=row.restricts_access,
            )
            for row in cautions.caution
        },
    )


def read_terms(path: Path) -> list[Concept]:
    """Return the concepts of one term file.

    Raises:
        VocabularyError: the file is missing, not TOML, or not a term file.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise VocabularyError(f"The term file {path} can't be read: {error}.") from error
    return parse_terms(text, origin=str(path))


def parse_terms(text: str, *, origin: str) -> list[Concept]:
    """Return the concepts of a term file's text.

    Raises:
        VocabularyError: the text is not a term file; the message names ``origin``.
    """
    try:
        data: dict[str, Any] = tomllib.loads(text)
        rows = _TermsFile.model_validate(data)
    except tomllib.TOMLDecodeError as error:
        raise VocabularyError(f"{origin} is not valid TOML: {error}.") from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise VocabularyError(f"{origin}: {where}: {first['msg']}.") from error
    return [
        Concept(
            id=row.id,
            field=rows.field,
            term=row.term,
            variants=tuple(row.variants),
            definition=row.definition,
            authority=row.authority,
            cautions=tuple(row.cautions),
        )
        for row in rows.concept
    ]


def check_collisions(concepts: Iterable[Concept]) -> None:
    """Refuse a wording that stands for two concepts of one field.

    Raises:
        VocabularyError: names the wording and both concepts.
    """
    owner: dict[tuple[TermField, str], Concept] = {}
    for concept in concepts:
        for form in concept.forms():
            key = (concept.field, form.lower().replace("-", " "))
            other = owner.setdefault(key, concept)
            if other is not concept:
                raise VocabularyError(
                    f"{form!r} would stand for both {other.term!r} and {concept.term!r} "
                    f"in {concept.field}; remove it from one of them."
                )
