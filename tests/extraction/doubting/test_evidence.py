"""What speaks for a value: how its words were heard, and whether other readings agree."""

from __future__ import annotations

import pytest

from voicelog.domain.context import Context
from voicelog.domain.note import Note, Span, Word
from voicelog.domain.statement import GoTo, OpenItem, SetValue, Statement, WriteCaption
from voicelog.extraction.doubting.evidence import (
    LEAST_SURE,
    Evidence,
    Family,
    compare_readings,
    family_of,
    find_other_words,
    hear,
)


def heard(text: str, *scores: float, alternatives: tuple[str, ...] = ()) -> Note:
    words = tuple(
        Word(text=word, start_s=float(at), end_s=at + 0.5, confidence=score)
        for at, (word, score) in enumerate(zip(text.split(), scores, strict=True))
    )
    return Note(
        number=1, uid="note-1", text=text, words=words, engine="vosk", alternatives=alternatives
    )


def span_of(note: Note, text: str) -> Span:
    first = note.text.index(text)
    return Span(note=1, text=text, first=first, last=first + len(text))


def gather(note: Note, text: str, family: Family) -> Evidence:
    hearing, _ = hear(note, Context())
    assert hearing is not None
    found = hearing.gather(span_of(note, text), family, support=1.0, likeness=1.0)
    assert found is not None
    return found


class TestHowWordsWereHeard:
    """The scores of the words behind a value, and of those around it."""

    def test_a_value_is_as_weak_as_its_weakest_word(self) -> None:
        note = heard("leaf fourteen photo corners", 1.0, 0.2, 0.8, 0.4)
        found = gather(note, "photo corners", Family.TERM)
        assert (found.weakest, found.words) == (0.4, 2)
        assert (found.weakest_around, found.mean_around) == (0.2, pytest.approx(0.6))

    def test_a_mark_for_an_unknown_word_is_never_sure(self) -> None:
        note = heard("reads [unk] outing", 1.0, 1.0, 1.0)
        assert gather(note, "[unk] outing", Family.TEXT).weakest == LEAST_SURE

    def test_typed_words_need_no_evidence(self) -> None:
        note = Note(number=1, uid="note-1", text="a postcard")
        assert hear(note, Context()) == (None, Context())

    def test_how_well_a_voice_is_heard_is_remembered_and_fades(self) -> None:
        mumbled, clear = heard("a postcard", 0.2, 0.4), heard("a ticket", 1.0, 1.0)
        first, context = hear(mumbled, Context())
        second, context = hear(clear, context)
        assert first is not None
        assert second is not None
        assert first.clarity == pytest.approx(0.3)
        assert 0.65 < second.clarity < 0.66
        for _ in range(500):
            later, context = hear(clear, context)
        assert later is not None
        assert later.clarity == pytest.approx(1.0, abs=0.01)


class TestOtherReadings:
    """They agree where they come to the same value, however they spell it."""

    here: tuple[Statement, ...] = (
        GoTo(leaf="14"),
        OpenItem(item_type=("postcard",)),
        WriteCaption(text="Gull Rock, 1952"),
    )

    def test_without_another_reading_nothing_disagrees(self) -> None:
        found = compare_readings(self.here, [])
        assert (found.supports, found.likeness) == ((1.0, 1.0, 1.0), 1.0)

    def test_capitals_and_commas_of_a_caption_are_no_disagreement(self) -> None:
        other = (*self.here[:2], WriteCaption(text="gull rock 1952"))
        assert compare_readings(self.here, [other]).supports == (1.0, 1.0, 1.0)

    def test_each_value_is_supported_by_the_readings_that_give_it(self) -> None:
        others = [self.here, (GoTo(leaf="40"), *self.here[1:])]
        assert compare_readings(self.here, others).supports == (0.5, 1.0, 1.0)

    def test_what_only_another_reading_says_makes_them_less_alike(self) -> None:
        other = (*self.here, SetValue(field="condition", value="yellowed"))
        found = compare_readings(self.here, [other])
        assert (found.supports, found.likeness) == ((1.0, 1.0, 1.0), 0.75)

    @pytest.mark.parametrize(
        ("text", "value", "other", "expected"),
        [
            ("a glassine sheet", "glassine", "a gasoline sheet", "gasoline"),
            ("leaf fourteen recto", "leaf fourteen recto", "leaf forty recto", "leaf forty recto"),
            ("photo corners", "photo corners", "photo corners", None),
            ("Photo corners.", "Photo corners", "photo, corners", None),
            ("both yellowed", "yellowed", "both", None),
        ],
    )
    def test_the_words_another_reading_has_there_are_quoted(
        self, text: str, value: str, other: str, expected: str | None
    ) -> None:
        note = heard(text, *(0.5 for _ in text.split()), alternatives=(other,))
        assert find_other_words(note, span_of(note, value)) == expected


@pytest.mark.parametrize(
    ("statement", "family"),
    [
        (GoTo(leaf="3"), Family.PLACE),
        (SetValue(field="images", value=(7,)), Family.NUMBER),
        (SetValue(field="condition", value="foxing"), Family.TERM),
        (WriteCaption(text="the weir"), Family.TEXT),
    ],
    ids=["a place", "a number", "a term", "a text"],
)
def test_every_statement_belongs_to_a_family(statement: Statement, family: Family) -> None:
    assert family_of(statement) is family
