"""What was heard unclearly: which entries are asked about, and how the doubt is worded."""

from __future__ import annotations

from functools import cache

import pytest

from voicelog.domain.entry import Entry, Status
from voicelog.domain.note import Note, Word
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

CLEAR, UNCLEAR = 0.99, 0.02


def spoken(number: int, text: str, *alternatives: str, unclear: str = "") -> Note:
    words = tuple(
        Word(
            text=word,
            start_s=float(at),
            end_s=at + 0.5,
            confidence=UNCLEAR if word in unclear.split() else CLEAR,
        )
        for at, word in enumerate(text.split())
    )
    return Note(
        number=number,
        uid=f"note-{number}",
        text=text,
        words=words,
        engine="both",
        alternatives=alternatives,
    )


@cache
def make_reader(*, query_below: float, known_accessions: tuple[str, ...] = ()) -> Reader:
    options = ReadingOptions(query_below=query_below, known_accessions=known_accessions)
    return Reader(load_vocabulary(), options)


def entries_of(
    *notes: Note, query_below: float = 0.5, known_accessions: tuple[str, ...] = ()
) -> tuple[Entry, ...]:
    reader = make_reader(query_below=query_below, known_accessions=known_accessions)
    logbook = Logbook(reader)
    for note in notes:
        logbook.take(note)
    return logbook.entries()


def doubts_of(entry: Entry) -> list[tuple[str | None, str]]:
    return [(doubt.field, doubt.message) for doubt in entry.doubts]


class TestAnEntryThatWasHeardUnclearly:
    """It is queried, and the doubt names the value and quotes what else was heard."""

    start = spoken(1, "leaf fourteen recto")

    def test_what_was_heard_clearly_is_not_queried(self) -> None:
        (entry,) = entries_of(self.start, spoken(2, "a postcard, yellowed"))
        assert (entry.status, entry.doubts) == (Status.HEARD, ())
        assert entry.confidence > 0.5

    def test_the_doubt_names_the_field_and_both_readings(self) -> None:
        note = spoken(
            2, "a postcard, photo corners", "a postcard, four corners", unclear="photo corners"
        )
        (entry,) = entries_of(self.start, note, query_below=0.95)
        assert entry.status is Status.QUERIED
        assert doubts_of(entry) == [
            ("attachment", "heard 'photo corners' or 'four corners'"),
        ]

    def test_without_another_reading_it_quotes_the_words(self) -> None:
        note = spoken(2, "a postcard, photo corners", unclear="photo corners")
        (entry,) = entries_of(self.start, note, query_below=0.95)
        assert doubts_of(entry) == [("attachment", "heard unclearly: 'photo corners'")]

    def test_the_threshold_is_the_repository_s_to_choose(self) -> None:
        note = spoken(2, "a postcard, photo corners", unclear="photo corners")
        asked = [entries_of(self.start, note, query_below=below)[0].status for below in (0.0, 1.0)]
        assert asked == [Status.HEARD, Status.QUERIED]

    def test_typed_notes_are_not_doubted_for_how_they_sound(self) -> None:
        notes = [
            Note(number=1, uid="a", text="leaf fourteen recto"),
            Note(number=2, uid="b", text="a postcard, photo corners"),
        ]
        (entry,) = entries_of(*notes, query_below=0.8)
        assert entry.status is Status.HEARD

    def test_agreeing_readings_make_surer_than_differing_ones(self) -> None:
        said = "a postcard, photo corners"
        note = spoken(2, said, f"{said}.")
        other = spoken(2, said, "a past guard, four corners")
        surer, less_sure = (entries_of(self.start, one)[0].confidence for one in (note, other))
        assert surer > less_sure

    def test_saying_that_it_is_right_settles_it(self) -> None:
        logbook = Logbook(make_reader(query_below=0.95))
        logbook.take(self.start)
        (asked,) = logbook.take(spoken(2, "a postcard, photo corners", unclear="photo corners"))
        assert asked.status is Status.QUERIED
        answer = Note(number=3, uid="c", text="that's right", about=asked.id)
        (settled,) = logbook.take(answer)
        assert (settled.status, settled.doubts) == (Status.HEARD, ())


class TestAPlaceThatWasHeardUnclearly:
    """It is carried on to every later entry, so it is asked about at the first."""

    @pytest.mark.parametrize(
        ("here", "there", "is_doubted"),
        [
            ("leaf three", "leaf forty", True),
            ("leaf three", "leaf four", False),
            ("leaf three", "leaf two", True),
        ],
        ids=["far away", "the next one", "back again"],
    )
    def test_only_a_leaf_that_does_not_follow_is_doubted(
        self, here: str, there: str, *, is_doubted: bool
    ) -> None:
        notes = [
            spoken(1, here),
            spoken(2, there, unclear=there),
            spoken(3, "a postcard"),
            spoken(4, "a ticket"),
        ]
        postcard, ticket = entries_of(*notes, query_below=0.8)
        said = [message for field, message in doubts_of(postcard) if field == "leaf"]
        assert (f"the place was heard unclearly: {there!r}" in said) is is_doubted
        assert not ticket.doubts

    def test_an_accession_number_in_the_register_is_believed(self) -> None:
        note = spoken(1, "accession 2031-007", unclear="accession 2031-007")
        asked = [
            [field for field, _ in doubts_of(entry)]
            for known in ((), ("2031-007",))
            for entry in entries_of(
                note,
                spoken(2, "volume one, the green book"),
                known_accessions=known,
                query_below=0.8,
            )
        ]
        assert asked == [["accession"], []]
