"""Answers to a question about an entry: what they change, and that nothing else moves."""

from __future__ import annotations

import pytest

from voicelog.domain.entry import Entry, Kind, Status
from voicelog.domain.note import Note
from voicelog.extraction.answers import Answer, Answers
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader

SAID = (
    "accession 2031-007",
    "volume one, the green book, post binding",
    "leaf two, a postcard dated 1952 with a blorf",
    "a ticket, photo corners",
    "leaf three, a map",
)


class Log:
    """A logbook in which a few things were said, and questions can be answered."""

    def __init__(self, reader: Reader) -> None:
        self.book = Logbook(reader)
        self.notes = 0
        for text in SAID:
            self.say(text)

    def say(self, text: str, *, about: str | None = None) -> None:
        self.notes += 1
        note = Note(number=self.notes, uid=f"note-{self.notes}", text=text, about=about)
        self.book.take(note)

    def find(self, item_type: str) -> Entry:
        (entry,) = (one for one in self.book.entries() if one.item_type == (item_type,))
        return entry

    @property
    def volume(self) -> Entry:
        (entry,) = (one for one in self.book.entries() if one.kind is Kind.VOLUME)
        return entry


# said about the postcard | field | value
RESTATED = (
    ("dated 1953", "date", "1953"),
    ("correction, dated 1953", "date", "1953"),
    ("it's dated June fourth 1953", "date", "1953-06-04"),
    ("a photograph", "item_type", ("photograph",)),
    ("correction, a photograph", "item_type", ("photograph",)),
    ("yellowed", "condition", ("yellowed",)),
    ("leaf five", "leaf", "5"),
    ("correction, leaf five", "leaf", "5"),
    ("caption reads admit one", "caption", "admit one"),
)


@pytest.mark.parametrize(("said", "field", "value"), RESTATED)
def test_an_answer_restates_what_it_names(
    reader: Reader, said: str, field: str, value: object
) -> None:
    """Of the entry that was asked about, not of the latest; the place stays."""
    log = Log(reader)
    postcard = log.find("postcard")
    others = (log.find("ticket"), log.find("map"))
    log.say(said, about=postcard.id)
    (answered,) = (one for one in log.book.entries() if one.id == postcard.id)
    assert getattr(answered, field) == value
    assert not any("two values" in doubt.message for doubt in answered.doubts)
    assert log.book.context.leaf == "3"
    assert (log.find("ticket"), log.find("map")) == others
    log.say("a letter")
    assert log.find("letter").leaf == "3"


def test_that_it_is_right_settles_the_doubts(reader: Reader) -> None:
    """The words that gave them stay in the remark."""
    log = Log(reader)
    postcard = log.find("postcard")
    assert postcard.status is Status.QUERIED
    log.say("That's right.", about=postcard.id)
    settled = log.find("postcard")
    assert (settled.status, settled.doubts) == (Status.HEARD, ())
    assert settled.remark == postcard.remark


@pytest.mark.parametrize("said", ["leave it", "That's all.", "say that again", "stop"])
def test_short_answers_change_nothing(reader: Reader, said: str) -> None:
    """Unasked, some of these words would mean something."""
    log = Log(reader)
    before = log.book.entries()
    log.say(said, about=log.find("postcard").id)
    assert log.book.entries() == before


def test_check_this_is_about_what_was_asked(reader: Reader) -> None:
    """For the reviewer."""
    log = Log(reader)
    log.say("check this", about=log.find("ticket").id)
    assert [one.message for one in log.find("ticket").doubts] == ["the handler asked to check this"]


def test_a_count_is_kept_word_for_word_with_the_volume(reader: Reader) -> None:
    """It makes no entries of the envelopes that it counts."""
    log = Log(reader)
    before = len(log.book.entries())
    said = "box one holds the volume, two folders and nine envelopes"
    log.say(said, about=log.volume.id)
    assert len(log.book.entries()) == before
    assert log.volume.remark == said
    assert log.volume.doubts == ()


def test_words_that_fit_nothing_stay_with_what_was_asked(reader: Reader) -> None:
    """Nothing that is said is dropped."""
    log = Log(reader)
    log.say("blurp", about=log.find("ticket").id)
    assert "blurp" in (log.find("ticket").remark or "")


def test_strike_that_takes_an_answer_back(reader: Reader) -> None:
    """As it does every other note; a short answer is passed over."""
    log = Log(reader)
    postcard = log.find("postcard")
    log.say("dated 1953", about=postcard.id)
    log.say("leave it", about=log.find("ticket").id)
    log.say("strike that")
    assert log.find("postcard").date == postcard.date == "1952"


def test_only_whole_notes_are_short_answers() -> None:
    """What goes on is no answer."""
    answers = Answers()
    assert answers.find("Leave it, please hold") is None
    assert answers.find("That’s all.") is Answer.REST
    assert answers.find("") is None
