"""The shipped model knows the words of the vocabulary, and a great deal of English."""

from __future__ import annotations

import re
import tomllib
from itertools import islice
from pathlib import Path

from models.recipe.lexicon import bench_words, make_lexicon
from models.recipe.notes import NoteWriter
from voicelog.adapting.lexicon import UNKNOWN, words_in
from voicelog.adapting.phones import NUMBER_OF

SHIPPED = Path(__file__).parents[2] / "models" / "vosk-bench" / "graph" / "words.txt"


RULES = Path(__file__).parents[2] / "models" / "recipe" / "notes.toml"


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
    assert all(note for note in notes)
    assert len(set(notes)) > 150


def test_every_wording_can_be_filled_in() -> None:
    """No rule names one that isn't there, and none is left unused."""
    text = RULES.read_text("utf-8")
    rules = tomllib.loads(text)
    writer = NoteWriter(5)
    for wordings in rules.values():
        for wording in wordings:
            filled = writer.expand(wording)
            assert "{" not in filled, wording
            assert "}" not in filled, wording
    asked_in_code = {"note", "a_date"}
    used = set(re.findall(r"\{(?:a: )?\??([a-z_.]+)\}", text)) | asked_in_code
    assert set(rules) <= used


def test_a_word_takes_the_article_that_its_first_letter_asks_for() -> None:
    writer = NoteWriter(1)
    assert writer.expand("{a: envelope}") == "an envelope"
    assert writer.expand("{a: postcard}") == "a postcard"


def test_the_lexicon_of_notes_covers_names_and_wordings() -> None:
    words = NoteWriter(1).words()
    assert {"wilfred", "regatta", "tassel", "um", "bravo"} <= words
    assert "town_place" not in words
