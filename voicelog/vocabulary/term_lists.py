"""Term lists: what was read from one file, whatever its form, and what is wrong with it."""

from __future__ import annotations

import re
import unicodedata
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from voicelog.errors import VocabularyError
from voicelog.vocabulary.concepts import AuthorityMatch, Concept, TermField, heard_of

MOST_CHARACTERS = 200
"""Of a term or variant; nobody says more in one breath."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Something about a term list that a person should mend.

    Attributes:
        origin: the file it is in.
        message: what is wrong and what to do.
        is_grave: whether the vocabulary can't be used until it is mended.
    """

    origin: str
    message: str
    is_grave: bool = True

    def __str__(self) -> str:
        return f"{self.origin}: {self.message}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TermList:
    """The concepts of one file.

    Attributes:
        origin: the file, as messages name it.
        concepts: what could be read, in the file's order.
        problems: why something could not be read.
        field: the one field of all its concepts, where the form of the file has only one.
    """

    origin: str
    concepts: tuple[Concept, ...] = ()
    problems: tuple[Problem, ...] = ()
    field: TermField | None = None


def refuse(problems: Iterable[Problem]) -> None:
    """Refuse a vocabulary that can't be used.

    Raises:
        VocabularyError: names the first grave problem and how many more there are.
    """
    grave = [problem for problem in problems if problem.is_grave]
    if grave:
        more = f" ({len(grave) - 1} more like this.)" if len(grave) > 1 else ""
        raise VocabularyError(f"{grave[0]}{more}")


def make_id(term: str) -> str:
    """Return an identifier made from a term.

    >>> make_id("Adhesive, unidentified"), make_id("carte de visité")
    ('adhesive-unidentified', 'carte-de-visite')
    """
    plain = unicodedata.normalize("NFKD", term.casefold()).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    return slug or f"term-{zlib.crc32(term.encode()):08x}"


def _check_wording(text: str) -> str:
    if any(unicodedata.category(character).startswith("C") for character in text):
        raise ValueError("holds a control character; type it anew")
    if "|" in text:
        raise ValueError("holds '|', which separates variants in tables; leave it out")
    text = " ".join(text.split())
    if not heard_of(text):
        raise ValueError("holds nothing that can be said; write a word")
    return text


Wording = Annotated[str, Field(max_length=MOST_CHARACTERS), AfterValidator(_check_wording)]


class ConceptRow(BaseModel):
    """The door where outsiders write a concept."""

    model_config = ConfigDict(extra="forbid")

    id: str = Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$", max_length=MOST_CHARACTERS)
    term: Wording
    variants: list[Wording] = []
    definition: str = ""
    authority: str | None = Field(default=None, pattern=r"^https?://[^\s<>\"{}|\\^`]+$")
    authority_match: AuthorityMatch = AuthorityMatch.EXACT
    cautions: list[str] = []

    def freeze(self, field: TermField) -> Concept:
        """Return the concept that the row describes."""
        variants = dict.fromkeys(form for form in self.variants if form != self.term)
        return Concept(
            id=self.id,
            field=field,
            term=self.term,
            variants=tuple(variants),
            definition=" ".join(self.definition.split()),
            authority=self.authority,
            # A match without a link would say nothing.
            authority_match=self.authority_match if self.authority else AuthorityMatch.EXACT,
            cautions=tuple(dict.fromkeys(self.cautions)),
        )


def parse_concept(
    values: dict[str, Any], *, field: TermField, origin: str
) -> Concept | tuple[Problem, ...]:
    """Return the concept of one row, or everything that is wrong with it."""
    try:
        row = ConceptRow.model_validate(values)
    except ValidationError as failure:
        named = values.get("term") or values.get("id")
        where = f"{named!r}: " if isinstance(named, str) and named.strip() else ""
        return tuple(
            Problem(origin=origin, message=f"{where}{sentence}") for sentence in explain(failure)
        )
    return row.freeze(field)


def explain(failure: ValidationError) -> Sequence[str]:
    """Return everything that is wrong with a row, a sentence each."""
    return [_explain_one(error) for error in failure.errors()]


def _explain_one(error: Any) -> str:
    place = ".".join(str(part) for part in error["loc"])
    given = repr(error["input"])
    given = given if len(given) <= 60 else f"{given[:60]}..."
    match error["type"]:
        case "extra_forbidden":
            return f"{place} is not known; correct the word or take it out."
        case "missing":
            return f"{place} is missing; add it."
        case "string_pattern_mismatch" if place == "authority":
            return f"authority = {given} is no web address; write http://... or leave it out."
        case "string_pattern_mismatch":
            return f"{place} = {given} may hold only letters a to z, digits and . _ - between them."
        case "value_error":
            return f"{place} = {given} {error['ctx']['error']!s}."
        case _:
            message = error["msg"].replace("Input should", "should")
            return f"{place} = {given} {message[:1].lower()}{message[1:]}."
