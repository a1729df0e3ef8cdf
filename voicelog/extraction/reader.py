"""The reader: one note in, its statements out.

The reader knows the language and the vocabulary and nothing of the log; what it must know
of the running context it is told (:class:`Surroundings`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from voicelog.domain.lesson import Lesson
from voicelog.domain.note import Note
from voicelog.domain.place import Place
from voicelog.domain.statement import GiveOrder, Order, Statement
from voicelog.extraction.digest import digest_of_reader, digest_of_reading
from voicelog.extraction.doubting.calibration import Calibration, load_calibration
from voicelog.extraction.doubting.evidence import Hearing
from voicelog.extraction.doubting.unclear import doubt_place
from voicelog.extraction.doubting.weighing import weigh
from voicelog.extraction.language.phrases import Language, load_language
from voicelog.extraction.learnt_repairs import LearntRepairs
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.pipeline.language_pipeline import MARKS, make_doc, make_pipeline
from voicelog.extraction.sound_alikes import SoundAlikeRepair
from voicelog.extraction.sounds.misheard import Form, MishearingRepair
from voicelog.extraction.statements.interpreter import interpret
from voicelog.extraction.statements.kinds import SILENT, has_field, is_cue
from voicelog.extraction.statements.leads import is_continuation
from voicelog.extraction.statements.negation import mark_negations
from voicelog.extraction.statements.repairs import mend_repairs
from voicelog.extraction.statements.shaping import strike_inside, take_verbatim
from voicelog.extraction.statements.walk import Scene
from voicelog.extraction.statements.whole_notes import read_whole_note
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import Token, tokenize
from voicelog.vocabulary import TermField, Vocabulary
from voicelog.vocabulary.inflection import plural_forms

_PLACE_WORDINGS = (
    "recto", "verso", "flyleaf", "back flyleaf", "front cover", "back cover", "turn over",
    "inside front cover", "inside back cover", "next leaf", "next page", "facing page",
    "opposite page", "both sides blank", "blank",
)  # fmt: skip
_SPOKEN_ORDERS = ("strike", "check", "pause", "resume", "read_back", "same")
LONGEST_NOTE = 4000
"""Characters; nobody says more between two pauses, so what is longer is not a note."""

_FREE_KINDS = frozenset({MarkKind.DATE, MarkKind.NUMBER, MarkKind.ORDINAL, MarkKind.ASIDE})
_LONGEST_LEAD = 4
"""Words from the article to the type of an item."""
_FREE_CUES = frozenset({"position", "degrees", "damage_places", "enclosed_in", "volume_words"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the reader is told of the running context.

    Attributes:
        scene: whether a leaf was reached and whether its side has items.
        volume_names: the donor's names already used in this accession.
        place: where the handler is, or None.
        hearing: how the words of the note were heard; None where they need not be weighed.
    """

    scene: Scene
    volume_names: tuple[str, ...] = ()
    place: Place | None = None
    hearing: Hearing | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one note says.

    Attributes:
        statements: in the order said.
        begins_freely: whether it begins with words that name nothing, as the second half
            of a caption does.
    """

    statements: tuple[Statement, ...]
    begins_freely: bool


class Reader:
    """Reads notes; holds the pipeline, which takes a moment to build.

    Args:
        vocabulary: the terms.
        options: how numbers, dates and sizes are understood.
        lessons: what corrections have taught; each holds for some notes only.
    """

    def __init__(
        self,
        vocabulary: Vocabulary,
        options: ReadingOptions,
        lessons: Iterable[Lesson] = (),
        calibration: Calibration | None = None,
    ) -> None:
        self.vocabulary = vocabulary
        self.options = options
        self._calibration = calibration or load_calibration()
        self._lessons = tuple(lessons)
        language = load_language()
        self._words = language.words
        self._nlp = make_pipeline(vocabulary, language, options)
        term_words = {
            token.norm
            for concept in vocabulary.concepts
            for form in concept.forms()
            for token in tokenize(form)
        }
        plurals = {
            tokenize(plural)[-1].norm
            for concept in vocabulary.of_field(TermField.ITEM_TYPE)
            for form in (concept.term, *concept.variants)
            for plural in plural_forms(form)
        }
        self._mishearings = _make_mishearings(vocabulary, language)
        self._repairs = LearntRepairs(
            self._lessons,
            lambda learnt: SoundAlikeRepair(
                (*learnt, *language.sound_alikes),
                term_words.__contains__,
                plurals.__contains__,
            ),
        )

    def digest(self, *, up_to: int) -> str:
        """Return a digest of all that decides how the notes up to a number are read."""
        return digest_of_reading(self._own_digest, self._lessons, up_to=up_to)

    @cached_property
    def _own_digest(self) -> str:
        return digest_of_reader(self.vocabulary, self.options, self._calibration)

    def read(self, note: Note, surroundings: Surroundings) -> Reading:
        """Return the statements of a note, weighed by how its words were heard."""
        reading = self._read(note, surroundings)
        if surroundings.hearing is None:
            return reading
        others = [
            self._read(replace(note, text=text, words=()), surroundings).statements
            for text in note.alternatives
        ]
        weighed = weigh(reading.statements, others, surroundings.hearing, self._calibration)
        return replace(
            reading, statements=tuple(self._doubt_place(one, surroundings) for one in weighed)
        )

    def _doubt_place(self, statement: Statement, surroundings: Surroundings) -> Statement:
        return doubt_place(
            statement,
            here=surroundings.place,
            register=self.options.known_accessions,
            query_below=self.options.query_below,
        )

    def _read(self, note: Note, surroundings: Surroundings) -> Reading:
        repair = self._repairs.for_note(note.number)
        tokens = repair.apply(tokenize(note.text[:LONGEST_NOTE]))
        if not tokens:
            return Reading(statements=(), begins_freely=False)
        whole = read_whole_note(tokens, note.text, Wording(note, tokens))
        if whole is not None:
            return Reading(statements=whole, begins_freely=False)
        names = tuple(_name_norms(name) for name in surroundings.volume_names)
        found = take_verbatim(self._mark(tokens, names), tokens)
        if self.options.repair_mishearings:
            heard = self._mishearings.apply(tokens, found)
            if heard is not tokens:
                tokens = heard
                found = take_verbatim(self._mark(tokens, names), tokens)
        marks, start, strikes = strike_inside(found)
        marks = mark_negations(mend_repairs(marks, tokens), tokens)
        statements: list[Statement] = [GiveOrder(order=Order.STRIKE)] * strikes
        statements += interpret(
            tokens,
            marks,
            start,
            wording=Wording(note, tokens),
            words=self._words,
            scene=surroundings.scene,
        )
        return Reading(
            statements=tuple(statements),
            begins_freely=not strikes
            and start == 0
            and not is_continuation(tokens, start, marks)
            and _begins_freely(marks, tokens),
        )

    def _mark(self, tokens: tuple[Token, ...], names: tuple[tuple[str, ...], ...]) -> list[Mark]:
        doc = make_doc(self._nlp, tokens, names)
        marks: list[Mark] = self._nlp(doc).user_data[MARKS]
        return marks


def _name_norms(name: str) -> tuple[str, ...]:
    norms = tuple(token.norm for token in tokenize(name))
    return norms[1:] if norms[:1] == ("the",) else norms


def _make_mishearings(vocabulary: Vocabulary, language: Language) -> MishearingRepair:
    forms = [
        Form(tuple(token.norm for token in tokenize(form)), f"{concept.field}:{concept.id}")
        for concept in vocabulary.concepts
        for form in concept.forms()
    ]
    forms += [Form(tuple(wording.split()), wording) for wording in _PLACE_WORDINGS]
    forms += [
        Form(tuple(wording.split()), name)
        for name in _SPOKEN_ORDERS
        for wording in language.cues[name]
    ]
    known_words = {
        token.norm
        for wordings in (*language.cues.values(), *language.words.values())
        for wording in wordings
        for token in tokenize(wording)
    }
    return MishearingRepair(forms, frozenset(known_words))


def _begins_freely(marks: list[Mark], tokens: tuple[Token, ...]) -> bool:
    first = next((at for at, token in enumerate(tokens) if token.is_word), 0)
    opening = [mark for mark in marks if not is_cue(mark, *SILENT)]
    if not opening:
        return True
    if any(_names_item(mark, first, marks, tokens) for mark in opening[:2]):
        return False
    mark = opening[0]
    stands_first = mark.first <= first + 1
    is_free = mark.kind in _FREE_KINDS or (mark.kind is MarkKind.CUE and mark.value in _FREE_CUES)
    return not stands_first or is_free


def _names_item(mark: Mark, first: int, marks: list[Mark], tokens: tuple[Token, ...]) -> bool:
    """Whether the note begins like "a lamplighters banquet menu, torn"."""
    before = tokens[first : mark.first]
    if not has_field(mark, TermField.ITEM_TYPE) or not 0 < len(before) <= _LONGEST_LEAD:
        return False
    if before[0].norm not in {"a", "an", "another"} or not all(one.is_word for one in before):
        return False
    is_last = mark.end == len(tokens) or not tokens[mark.end].is_word
    details = (TermField.ATTACHMENT, TermField.ADHESION, TermField.CONDITION)
    return is_last or any(
        one.first == mark.end and any(has_field(one, field) for field in details) for one in marks
    )
