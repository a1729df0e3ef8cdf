"""One reading out of two, as it comes out of the joiner that voicelog ships.

The readings are of the kind that the two recognisers give: tiny.en writes signs, capitals and
digits; our vosk model small letters, number words, and "[unk]" for what it does not know.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hearing.conftest import heard, untimed
from voicelog.domain.entry import Status
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.hearing.joining import Joiner
from voicelog.hearing.sounds import SoundDistance
from voicelog.recognition.recogniser import NOTHING, make_heard


@pytest.mark.parametrize(
    ("opened", "closed", "joined"),
    [
        # What both heard stands as the open ear wrote it.
        ("Leaf 14, recto.", "leaf fourteen recto", "Leaf 14, recto."),
        # Terms, places and numbers: the closed ear knows them.
        ("Turn over, oppressed flower.", "turn over a pressed flower",
         "Turn over a pressed flower."),
        ("Lived in, postcard, torn.", "leaf ten postcard torn", "Leaf ten postcard, torn."),
        ("Verso, seven-de-visite, sleeves.", "verso certificate slits",
         "Verso certificate slits"),
        ("It goes in bucks too.", "it goes in box two", "It goes in box two"),
        # Free text: the open ear's, whatever the closed ear makes of it.
        ("Caption reads, the lamplighters' outing.", "caption reads the light is out in",
         "Caption reads, the lamplighters' outing."),
        ("Remark, still quite sharp.", "remark stalk wide shark", "Remark, still quite sharp."),
        ("A letter from Wilfred, torn.", "a letter from [unk] torn",
         "A letter from Wilfred, torn."),
        # What the open ear missed.
        ("I have put the number on", "i have put the number on the back",
         "I have put the number on the back"),
    ],
)  # fmt: skip
def test_the_likelier_words_are_taken(
    opened: str, closed: str, joined: str, joiner: Joiner
) -> None:
    """Where whisper is wrong it is less sure of itself, as it is in what was measured."""
    found = joiner.join(heard(opened, confidence=0.7), heard(closed, confidence=0.95))
    assert found.text == joined


def test_both_readings_are_kept_for_the_reviewer(joiner: Joiner) -> None:
    """Also the other readings of the open ear, after them; never the joined one twice."""
    opened = make_heard(
        untimed("Verso, sleeves.", confidence=0.6),
        alternatives=["Verso, slits.", "Verse or sleeves."],
    )
    joined = joiner.join(opened, heard("verso slits [unk]"))
    assert joined.text == "Verso slits"
    assert joined.alternatives[0] == "Verso, sleeves."
    assert joined.alternatives[-1] == "Verse or sleeves."


def test_where_both_agree_there_is_nothing_else_to_choose(joiner: Joiner) -> None:
    assert joiner.join(heard("Leaf 14, recto."), heard("leaf fourteen recto")).alternatives == ()


def test_a_word_that_both_heard_is_surer_than_one_that_only_one_heard(joiner: Joiner) -> None:
    agreed, disputed = (
        joiner.join(heard("Verso, postcard, torn."), heard(closed)).words[1].confidence
        for closed in ("verso postcard torn", "verso coast guard torn")
    )
    assert agreed is not None
    assert disputed is not None
    assert agreed > disputed


def test_where_the_open_ear_heard_nothing_nothing_was_said(joiner: Joiner) -> None:
    assert joiner.join(NOTHING, heard("a e m")) == NOTHING


def test_a_closed_ear_that_heard_nothing_or_knows_nothing_leaves_the_words_alone(
    joiner: Joiner,
) -> None:
    for closed in ("", "[unk]", "[unk] [unk]"):
        joined = joiner.join(heard("A tassel of felt."), heard(closed))
        assert joined.text == "A tassel of felt."


def test_ears_that_disagree_about_everything_query_the_entry(
    joiner: Joiner, reader: Reader
) -> None:
    """And both readings are kept."""
    opened, closed = "Far a bicycle in kite.", "photograph silver mirroring lifting"
    joined = joiner.join(heard(opened, confidence=0.5), heard(closed, confidence=0.6))
    logbook = Logbook(reader)
    for number, text in enumerate(("volume one", "leaf two"), start=1):
        logbook.take(Note(number=number, uid=f"n{number}", text=text))
    logbook.take(
        Note(
            number=3,
            uid="n3",
            engine="both",
            text=joined.text,
            words=joined.words,
            alternatives=joined.alternatives,
        )
    )
    assert logbook.entries()[-1].status is Status.QUERIED
    assert {opened, closed} <= {joined.text, *joined.alternatives}


_WORDS = ["leaf", "14", "fourteen", "recto,", "postcard", "caption reads", "twenty", "torn.", "a"]


@settings(deadline=None)
@given(
    opened=st.lists(st.sampled_from(_WORDS), max_size=6).map(" ".join),
    closed=st.lists(st.sampled_from([*_WORDS, "[unk]"]), max_size=6).map(" ".join),
)
def test_every_word_was_heard_by_an_ear(opened: str, closed: str, joiner: Joiner) -> None:
    """Joining makes nothing up; every word has a confidence, and the mark [unk] is no word."""
    joined = joiner.join(heard(opened), heard(closed))
    known = {word.strip(".,") for word in f"{opened} {closed}".split()} - {"[unk]"}
    assert {word.text.strip(".,") for word in joined.words} <= known
    assert all(word.confidence is not None and 0 <= word.confidence <= 1 for word in joined.words)
    assert joined.text == " ".join(word.text for word in joined.words)


@pytest.mark.parametrize(
    ("one", "other", "least", "most"),
    [
        ("for", "four", 0.0, 0.0),
        ("2020 9", "twenty twenty nine", 0.0, 0.0),
        ("tintype", "tin type", 0.0, 0.2),
        ("sleeves", "slits", 0.3, 0.7),
        ("postcard", "recto", 0.6, 1.0),
        ("qwrtz", "qwrtx", 0.1, 0.5),
    ],
)
def test_words_are_compared_by_sound(
    one: str, other: str, least: float, most: float, sounds: SoundDistance
) -> None:
    assert least <= sounds.measure_words(one.split(), other.split()) <= most
