"""What speaks for and against a value: how its words were heard, and what else was heard.

A value is likely right where the recogniser was sure of every word behind it, and where the
other readings of the note (a second recogniser's, or the recogniser's own second thoughts)
come to the same value, whichever way they spell it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, fields, replace
from enum import StrEnum

from rapidfuzz.distance import Levenshtein, Opcodes

from voicelog.domain.context import Context
from voicelog.domain.note import Note, Span, Word, locate_words
from voicelog.domain.redaction import MASK
from voicelog.domain.statement import (
    GoTo,
    KeepWords,
    NameAccession,
    NameVolume,
    SayBlank,
    SetValue,
    Statement,
    TakeStep,
    WriteCaption,
)
from voicelog.extraction.tokens import tokenize

LEAST_SURE = 0.001
"""A word's score is never taken for less: a recogniser that gives 0 only rounds."""

HALF_LIFE_WORDS = 100
"""After so many words, about two minutes of notes, what was heard counts half."""

_NUMBER_FIELDS = frozenset({"images", "dimensions", "date", "leaves", "enclosure"})
_NOT_SAID = frozenset({"spans", "doubts", "target", "replaces", "is_open", "counted", "corrects"})
_WORD = re.compile(r"[^\W_]+")


class Family(StrEnum):
    """Kinds of values that recognisers hear about equally well."""

    PLACE = "place"
    NUMBER = "number"
    TERM = "term"
    TEXT = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """How the words behind one value were heard.

    Attributes:
        engine: the recogniser.
        family: what kind of value it is.
        weakest: the lowest score of its words, 0..1.
        unsure: the sum of -ln(score) over its words; 0 where all were sure.
        words: how many words it is read from.
        support: the share of other readings of the note that give the same value.
        likeness: how much of all that the readings of the note say is said by this one and
            the others alike, 0..1; what another reading has and this one lacks counts too.
        weakest_around: the lowest score of all words of the note.
        mean_around: their mean score.
        clarity: the mean score of the words heard lately: how well this voice is heard.
    """

    engine: str
    family: Family
    weakest: float
    unsure: float
    words: int
    support: float
    likeness: float
    weakest_around: float
    mean_around: float
    clarity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How far the other readings of a note say the same; 1 where there is no other.

    Attributes:
        supports: for each statement, the share of other readings that say it too.
        likeness: the mean share of statements that two readings have in common.
    """

    supports: tuple[float, ...]
    likeness: float


def family_of(statement: Statement) -> Family:
    """Return what kind of value a statement gives."""
    match statement:
        case GoTo() | TakeStep() | SayBlank() | NameAccession() | NameVolume():
            return Family.PLACE
        case WriteCaption() | KeepWords():
            return Family.TEXT
        case SetValue() if statement.field in _NUMBER_FIELDS:
            return Family.NUMBER
        case _:
            return Family.TERM


def what_is_said(statement: Statement) -> Hashable:
    """Return what a statement says, so that two spellings of the same thing are equal."""
    match statement:
        case WriteCaption() | KeepWords():
            return type(statement), tuple(_WORD.findall(statement.text.lower()))
        case _:
            said = tuple(
                getattr(statement, one.name)
                for one in fields(statement)
                if one.name not in _NOT_SAID
            )
            return type(statement), said


def compare_readings(
    statements: Sequence[Statement], others: Sequence[Sequence[Statement]]
) -> Agreement:
    """Return how far other readings of a note say what this one says."""
    if not others:
        return Agreement(supports=(1.0,) * len(statements), likeness=1.0)
    here = [what_is_said(statement) for statement in statements]
    there = [{what_is_said(one) for one in other} for other in others]
    return Agreement(
        supports=tuple(sum(one in said for said in there) / len(there) for one in here),
        likeness=sum(_likeness(set(here), said) for said in there) / len(there),
    )


def _likeness(one: set[Hashable], other: set[Hashable]) -> float:
    together = one | other
    return len(one & other) / len(together) if together else 1.0


@dataclass(frozen=True, slots=True)
class Hearing:
    """How the words of one note were heard.

    Attributes:
        note: the note.
        words: where each word begins and ends in the note's text, and its score.
        clarity: the mean score of the words heard lately, this note's among them.
    """

    note: Note
    words: tuple[tuple[int, int, float], ...]
    clarity: float

    def gather(
        self, span: Span, family: Family, *, support: float, likeness: float
    ) -> Evidence | None:
        """Return the evidence on a value, or None where no word is behind it."""
        scores = [
            score for first, last, score in self.words if first < span.last and last > span.first
        ]
        if not scores:
            return None
        around = [score for _, _, score in self.words]
        return Evidence(
            engine=self.note.engine,
            family=family,
            weakest=min(scores),
            unsure=-sum(math.log(score) for score in scores),
            words=len(scores),
            support=support,
            likeness=likeness,
            weakest_around=min(around),
            mean_around=sum(around) / len(around),
            clarity=self.clarity,
        )


def hear(note: Note, context: Context) -> tuple[Hearing | None, Context]:
    """Return how a note was heard, and the context in which that is remembered.

    Args:
        note: the note.
        context: knows how well the words before were heard.

    Returns:
        None for a typed note, one whose recogniser gives no scores, and one in which words
        were redacted: its other readings are gone.
    """
    if not note.words or note.words[0].confidence is None:
        return None, context
    fading = 0.5 ** (len(note.words) / HALF_LIFE_WORDS)
    count = context.words_heard * fading + len(note.words)
    scores = context.scores_heard * fading + sum(map(_score, note.words))
    after = replace(context, words_heard=round(count, 4), scores_heard=round(scores, 4))
    if MASK in note.text:
        return None, after
    words = tuple((first, last, _score(word)) for first, last, word in locate_words(note))
    return Hearing(note, words, after.scores_heard / after.words_heard), after


def _score(word: Word) -> float:
    """Return a word's score; "[unk]" and the like stand for words that nobody made out."""
    if word.confidence is None or word.text.startswith("["):
        return LEAST_SURE
    return max(LEAST_SURE, word.confidence)


def find_other_words(note: Note, span: Span) -> str | None:
    """Return the words that another reading has in place of a span's, or None.

    >>> note = Note(number=1, uid="a", text="a glassine sheet", alternatives=("a gasoline sheet",))
    >>> find_other_words(note, Span(note=1, text="glassine", first=2, last=10))
    'gasoline'
    """
    tokens = [token for token in tokenize(note.text) if token.is_word]
    inside = [
        at for at, one in enumerate(tokens) if one.first < span.last and one.last > span.first
    ]
    if not inside:
        return None
    first, end = inside[0], inside[-1] + 1
    heard = [token.norm for token in tokens]
    for text in note.alternatives:
        other = [token for token in tokenize(text) if token.is_word]
        edits = Levenshtein.opcodes(heard, [token.norm for token in other])
        places = [_shift(edits, at) for at in (first, end)]
        words = other[places[0] : places[1]]
        if words and [token.norm for token in words] != heard[first:end]:
            return text[words[0].first : words[-1].last]
    return None


def _shift(edits: Opcodes, at: int) -> int:
    """Return where a place between two words lies in the other reading."""
    for edit in edits:
        if edit.src_start <= at <= edit.src_end and edit.tag == "equal":
            return int(edit.dest_start + at - edit.src_start)
        if at == edit.src_start:
            return int(edit.dest_start)
        if at < edit.src_end:
            return int(edit.dest_start + min(at - edit.src_start, edit.dest_end - edit.dest_start))
    return int(edits[-1].dest_end) if edits else at
