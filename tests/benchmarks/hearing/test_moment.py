"""What a recogniser is told of the moment: the register and the latest rows, as notes say them."""

from __future__ import annotations

import pytest

from tests.benchmarks.hearing.moment import Moment
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import Vocabulary, load_vocabulary


@pytest.fixture(scope="module")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


@pytest.fixture(scope="module")
def reader(vocabulary: Vocabulary) -> Reader:
    return Reader(vocabulary, ReadingOptions())


def said_after(reader: Reader, *notes: str) -> tuple[str, ...]:
    moment, logbook = Moment(reader.vocabulary), Logbook(reader)
    for number, text in enumerate(notes, start=1):
        changed = logbook.take(Note(number=number, uid=f"note-{number}", text=text))
        moment.take(changed, logbook.context)
    return moment.said


BOOK = ("accession 2031-007", "volume one, the green book")
ALBUM = ("volume two, the picnic album",)
REGISTER = ("Accession 2031-007.", "Volume 1, the green book.")


@pytest.mark.parametrize(
    ("notes", "said"),
    [
        ((), ()),
        (BOOK, REGISTER),
        (
            (*BOOK, "leaf 3 recto, a snapshot, photo corners, faded", "next leaf, blank"),
            (*REGISTER, "Leaf 3 recto, snapshot, photo corners, faded."),
        ),
        # The volume's own rows, and all its neighbours by name.
        (
            (*BOOK, "leaf 3, a snapshot", *ALBUM, "leaf 1, a menu"),
            (*REGISTER, "Volume 2, the picnic album.", "Leaf 1 recto, menu."),
        ),
        # What was spoken of last stands last.
        (
            (*BOOK, "leaf 3, a snapshot and a menu", "the snapshot is faded"),
            (*REGISTER, "Leaf 3 recto, menu.", "Leaf 3 recto, snapshot, faded."),
        ),
        # What was struck was not said.
        ((*BOOK, "leaf 3, a snapshot", "strike that"), REGISTER),
        # Another accession has other volumes.
        ((*BOOK, "accession 2031-008"), ("Accession 2031-008.",)),
    ],
)
def test_it_says_where_the_handler_is_and_what_came_last(
    reader: Reader, notes: tuple[str, ...], said: tuple[str, ...]
) -> None:
    assert said_after(reader, *notes) == said


def test_only_the_latest_rows_are_said(reader: Reader) -> None:
    """Four: a long prompt would push out the words of every note."""
    notes = [f"leaf {leaf}, a menu" for leaf in range(1, 9)]
    assert said_after(reader, *BOOK, *notes)[2:] == tuple(
        f"Leaf {leaf} recto, menu." for leaf in range(5, 9)
    )
