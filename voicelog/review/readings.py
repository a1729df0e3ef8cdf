"""Other readings of a value: what else may have been said where it was heard.

Three sources, the likeliest first: the recogniser's own second thoughts about the note, read
by the rules that notes are read with; numbers that are taken for each other (thirteen and
thirty); and terms of the same field that sound like the words heard.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from voicelog.domain.entry import Adhesion, Entry, Review
from voicelog.domain.note import Note, Span
from voicelog.domain.statement import (
    CorrectItem,
    KeepWords,
    NameAccession,
    OpenItem,
    SetValue,
    Statement,
    WriteCaption,
)
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.sounds.phones import Pronouncer
from voicelog.extraction.statements.walk import Scene
from voicelog.extraction.tokens import tokenize
from voicelog.review.typed_values import SINGLE_TERMS, TERM_LISTS

MOST = 5
"""More would take longer to read than typing the value."""
NEAR_ENOUGH = 0.5
"""Least likeness of two pronunciations (1 - edit distance / longer length) for an offer; lower
than for a repair, because here a person chooses."""

# Recognisers take these for each other because only the last syllable's stress differs.
_TEENS_AND_TENS = dict(zip(range(13, 20), range(30, 100, 10), strict=True))
_MISTAKEN = _TEENS_AND_TENS | {ten: teen for teen, ten in _TEENS_AND_TENS.items()}
_NUMBER = re.compile(r"\d+")
_NUMBERED = frozenset({"quantity", "leaves", "enclosure", "images", "date"})
_ANYWHERE = Surroundings(scene=Scene(has_volume=True, has_leaf=True, item_types=()))


class Source(StrEnum):
    """Where a reading comes from, in the words of the page."""

    RECOGNISER = "the recogniser's second thought"
    NUMBER = "sounds almost the same"
    SOUND_ALIKE = "a term that sounds like it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A value that may have been meant."""

    value: Any
    source: Source


class Readings:
    """Finds other readings; reads the dictionary of pronunciations once, when first needed.

    Args:
        reader: the reader of the log's notes.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._pronouncer: Pronouncer | None = None

    def find(self, entry: Entry, field: str, notes: Mapping[int, Note]) -> tuple[Reading, ...]:
        """Return what else the value of a field may be, the likeliest first.

        Args:
            entry: the entry.
            field: the field.
            notes: the notes behind the entry, by number.
        """
        present = getattr(entry, field)
        found: dict[Any, Reading] = {}
        for reading in self._all(entry, field, notes):
            if reading.value not in (present, None, (), ""):
                found.setdefault(reading.value, reading)
        return tuple(found.values())[:MOST]

    def _all(self, entry: Entry, field: str, notes: Mapping[int, Note]) -> Iterator[Reading]:
        spans = _spans_of(entry, field)
        behind = dict.fromkeys(span.note for span in spans) or dict.fromkeys(entry.notes)
        for number in behind:
            if number in notes:
                for value in self._second_thoughts(notes[number], field):
                    yield Reading(value=value, source=Source.RECOGNISER)
        present = getattr(entry, field)
        if field in _NUMBERED:
            for value in _confuse_numbers(present):
                yield Reading(value=value, source=Source.NUMBER)
        for at, span in enumerate(spans):
            for term in self._sounds_like(field, span.text):
                value = _put(present, term, at=at, of=len(spans))
                yield Reading(value=value, source=Source.SOUND_ALIKE)

    def _second_thoughts(self, note: Note, field: str) -> Iterator[Any]:
        for text in note.alternatives:
            other = replace(note, text=text, words=())
            values = list(_values_of(self._reader.read(other, _ANYWHERE).statements, field))
            if not values:
                continue
            if field in TERM_LISTS or field == "images":
                yield tuple(dict.fromkeys(one for value in values for one in value))
            else:
                yield values[-1]

    def _sounds_like(self, field: str, heard: str) -> Iterator[Any]:
        term_field = TERM_LISTS.get(field) or SINGLE_TERMS.get(field)
        if term_field is None:
            return
        if self._pronouncer is None:
            self._pronouncer = Pronouncer()
        phones = self._pronouncer.phones([token.norm for token in tokenize(heard)])
        if phones is None:
            return
        spoken: dict[str, str] = {}
        for concept in self._reader.vocabulary.of_field(term_field):
            for form in concept.forms():
                said = self._pronouncer.phones([token.norm for token in tokenize(form)])
                if said:
                    spoken.setdefault(said, concept.term)
        near = process.extract(
            phones,
            list(spoken),
            scorer=Levenshtein.normalized_similarity,
            limit=4 * MOST,
            score_cutoff=NEAR_ENOUGH,
        )
        for term in dict.fromkeys(spoken[said] for said, _, _ in near):
            yield Adhesion(term) if field == "adhesion" else term


def _spans_of(entry: Entry, field: str) -> tuple[Span, ...]:
    origin = entry.sources.get(field, ())
    return () if isinstance(origin, str | Review) else tuple(origin)


def _values_of(statements: Iterable[Statement], field: str) -> Iterator[Any]:
    """Yield what statements say of a field; a list field's values as tuples."""
    is_list = field in TERM_LISTS or field == "images"
    for statement in statements:
        match statement:
            case SetValue() if statement.field == field:
                value = statement.value
                yield value if not is_list or isinstance(value, tuple) else (value,)
            case OpenItem() | CorrectItem() if field == "item_type" and statement.item_type:
                yield statement.item_type
            case OpenItem() if field == "quantity":
                yield statement.quantity
            case WriteCaption() if field == "caption":
                yield statement.text
            case KeepWords() if field == "remark":
                yield statement.text
            case NameAccession() if field == "accession":
                yield statement.accession


def _confuse_numbers(value: Any) -> Iterator[Any]:
    """Yield a value with one of its numbers taken for the one that it sounds like.

    >>> list(_confuse_numbers("envelope 13")), list(_confuse_numbers(50))
    (['envelope 30'], [15])
    """
    match value:
        case bool() | None:
            return
        case int():
            if value in _MISTAKEN:
                yield _MISTAKEN[value]
        case str():
            for found in _NUMBER.finditer(value):
                number = int(found[0][-2:])
                if number in _MISTAKEN and len(found[0]) in {2, 4}:
                    before = value[: found.start()] + found[0][:-2]
                    yield f"{before}{_MISTAKEN[number]}{value[found.end() :]}"
        case tuple():
            for at, one in enumerate(value):
                for other in _confuse_numbers(one):
                    yield (*value[:at], other, *value[at + 1 :])


def _put(present: Any, term: Any, *, at: int, of: int) -> Any:
    """Return a value in which a term stands for the one that the same words gave."""
    if not isinstance(present, tuple):
        return term
    if len(present) != of:
        return (term,)
    return tuple(dict.fromkeys((*present[:at], term, *present[at + 1 :])))
