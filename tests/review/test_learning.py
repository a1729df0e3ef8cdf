"""Corrections teach the reader: visibly, reversibly, and only from the next note on."""

from __future__ import annotations

import pytest

from tests.review.desk import Desk
from voicelog.domain.lesson import Lesson
from voicelog.errors import ReviewError
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.store.log import Log
from voicelog.vocabulary import load_vocabulary


def with_lessons(desk: Desk) -> Desk:
    """The desk as a session would find it that begins now."""
    with Log.open(desk.folder) as log:
        lessons = tuple(log.iter_lessons())
    desk.reader = Reader(load_vocabulary(), ReadingOptions(repair_mishearings=False), lessons)
    return desk


@pytest.fixture
def plain_desk(desk: Desk) -> Desk:
    """Nothing is put right by its sound there."""
    return with_lessons(desk)


def conditions(desk: Desk) -> list[tuple[str, tuple[str, ...]]]:
    return [("+".join(one.item_type), one.condition) for one in desk.entries() if one.item_type]


def test_a_corrected_term_offers_itself_and_is_understood_from_the_next_note_on(
    plain_desk: Desk,
) -> None:
    """The note that taught it stays as it was read; the one after is read with it."""
    desk = plain_desk
    desk.say("a menu, foxen")
    done = desk.reviewer.set_value(desk.see("menu"), "condition", "foxing")
    (offer,) = done.offers
    assert (offer.heard, offer.meant, offer.examples[0].text) == ("foxen", "foxing", "foxen")
    desk.say("a letter, foxen")
    desk.reviewer.confirm([desk.see("letter")])
    desk.reviewer.learning.learn(offer)
    with_lessons(desk).say("a brochure, foxen")
    assert conditions(desk)[-3:] == [
        ("menu", ("foxing",)), ("letter", ()), ("brochure", ("foxing",)),
    ]  # fmt: skip
    assert desk.the("brochure").entry.doubts == ()
    assert desk.reread().changes == ()


def test_what_was_heard_is_found_among_other_words_and_for_what_people_also_say(
    plain_desk: Desk,
) -> None:
    """It is like gummed tape, which is said for paper tape; the other words are left alone."""
    desk = plain_desk
    desk.say("a menu, somewhat bent, gondtape")
    done = desk.reviewer.set_value(desk.see("menu"), "attachment", "paper tape")
    (offer,) = done.offers
    assert (offer.heard, offer.meant, offer.field) == ("gondtape", "gummed tape", "attachment")
    desk.reviewer.learning.learn(offer)
    with_lessons(desk).say("a letter, gondtape")
    assert desk.the("letter").entry.attachment == ("paper tape",)


def test_a_lesson_taken_back_holds_for_the_notes_in_between(plain_desk: Desk) -> None:
    """Entries that were read with it stay as they are; later notes are read without it."""
    desk = plain_desk
    desk.reviewer.learning.learn(Lesson(heard="foxen", meant="foxing", field="condition"))
    (lesson,) = desk.reviewer.learning.lessons()
    assert (lesson.heard, lesson.by) == ("foxen", "Ida Marsh")
    with_lessons(desk).say("a menu, foxen")
    desk.reviewer.learning.forget(lesson.number)
    assert desk.reviewer.learning.lessons() == ()
    with_lessons(desk).say("a letter, foxen")
    assert conditions(desk)[-2:] == [("menu", ("foxing",)), ("letter", ())]
    with pytest.raises(ReviewError, match="no such entry in the list"):
        desk.reviewer.learning.forget(lesson.number)


def test_undo_takes_a_lesson_back(plain_desk: Desk) -> None:
    """It is an act like any other."""
    desk = plain_desk
    desk.reviewer.learning.learn(Lesson(heard="foxen", meant="foxing", field="condition"))
    desk.reviewer.undo()
    assert desk.reviewer.learning.lessons() == ()


@pytest.mark.parametrize(
    ("heard", "why"),
    [
        ("tear", "means something by itself"),
        ("leaf fourteen", "means something by itself"),
        ("", "Say both"),
        ("one two three four five six", "4 words at most"),
        ("foxen", "is in the list already"),
    ],
)
def test_what_would_do_harm_is_not_learnt(plain_desk: Desk, heard: str, why: str) -> None:
    """Words that mean something, and what is in the list."""
    learning = plain_desk.reviewer.learning
    learning.learn(Lesson(heard="foxen", meant="foxing", field="condition"))
    with pytest.raises(ReviewError, match=why):
        learning.learn(Lesson(heard=heard, meant="foxing", field="condition"))


def test_a_name_put_right_in_a_caption_offers_itself(plain_desk: Desk) -> None:
    """It is told to the recogniser; captions of later notes are kept as heard."""
    desk = plain_desk
    desk.say("leaf twenty, a menu", "caption reads quill heaven weir")
    done = desk.reviewer.set_value(desk.see("menu"), "caption", "Quillhaven weir")
    (offer,) = done.offers
    assert (offer.heard, offer.meant) == ("quill heaven", "Quillhaven")
    desk.reviewer.learning.learn(offer)
    with_lessons(desk).say("a letter, caption reads quill heaven")
    assert desk.the("letter").entry.caption == "quill heaven"


@pytest.mark.parametrize(
    ("field", "typed"), [("date", "1953"), ("quantity", "2"), ("condition", "mould")]
)
def test_what_sounds_nothing_alike_is_not_offered(plain_desk: Desk, field: str, typed: str) -> None:
    """A wrong number teaches nothing, nor does a term that was forgotten."""
    done = plain_desk.reviewer.set_value(plain_desk.see("snapshot"), field, typed)
    assert done.offers == ()
