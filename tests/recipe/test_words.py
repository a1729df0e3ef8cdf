"""The shipped model knows the words of the vocabulary, and a great deal of English."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

from models.recipe.lexicon import UNKNOWN, bench_words, make_lexicon, words_in
from models.recipe.notes import NoteWriter
from models.recipe.phones import NUMBER_OF

SHIPPED = Path(__file__).parents[2] / "models" / "vosk-bench" / "graph" / "words.txt"


def known_words() -> set[str]:
    return {line.split()[0] for line in SHIPPED.read_text("utf-8").splitlines()}


def test_the_words_of_the_vocabulary_and_of_the_reader_are_known() -> None:
    """All but those of terms that were added since the model was built."""
    words = bench_words()
    assert len(words & known_words()) > 0.98 * len(words)


def test_more_than_ten_thousand_words_are_known_besides() -> None:
    assert len(known_words() - bench_words()) > 10_000
    assert UNKNOWN in known_words()


def test_trade_words_that_no_dictionary_has_are_pronounced() -> None:
    """In phones that the model has."""
    lexicon = make_lexicon(["recto", "glassine", "leaf"])
    assert lexicon["recto"] == (("R", "EH", "K", "T", "OW"),)
    assert all(phone in NUMBER_OF for said in lexicon.values() for one in said for phone in one)


def test_invented_notes_are_made_of_plain_words() -> None:
    """The same notes again for the same seed."""
    notes = list(NoteWriter(3).iter_notes(200))
    assert notes == list(islice(NoteWriter(3).iter_notes(200), 200))
    assert all(note == " ".join(words_in(note)) for note in notes)
    assert len(set(notes)) > 150
