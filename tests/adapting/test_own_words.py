"""A repository's own names are read, pronounced and put into notes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.adapting.conftest import SHIPPED
from voicelog.adapting.own_words import (
    NOTES_A_NAME,
    OwnName,
    OwnWords,
    find_guessed,
    iter_own_notes,
    make_own_lexicon,
    parse_names,
)
from voicelog.adapting.search_graph import read_lexicon
from voicelog.errors import UsageError
from voicelog.vocabulary import Concept, TermField

LAMP_BADGE = Concept(
    id="lamp-badge",
    field=TermField.ITEM_TYPE,
    term="lampcrest",
    variants=("lamplighter's badge",),
)


def own_words(text: str, *concepts: Concept) -> OwnWords:
    return OwnWords(names=parse_names(text, origin="names.txt"), concepts=concepts)


class TestList:
    def test_a_name_may_say_how_it_is_said(self) -> None:
        """Notes behind a hash and blank lines make no difference."""
        text = "# our places\nQuillhaven = quill haven\n\n  Tarn   Valley\n"
        assert parse_names(text, origin="names.txt") == {
            "quillhaven": OwnName(written="Quillhaven", alike=("quill haven",)),
            "tarn valley": OwnName(written="Tarn Valley"),
        }

    def test_a_name_that_is_said_in_two_ways_has_two_lines(self) -> None:
        names = parse_names("Ellerby = eller bee\nEllerby = ella bay\n", origin="names.txt")
        assert names["ellerby"].alike == ("eller bee", "ella bay")

    def test_accents_are_no_hindrance(self) -> None:
        """The model has no letters for them; the name stays as it is written."""
        names = parse_names("Café Élan", origin="names.txt")
        assert names == {"cafe elan": OwnName(written="Café Élan")}

    @pytest.mark.parametrize(
        ("line", "problem"),
        [
            ("= quill haven", "line 1 has no word in it"),
            ("--- ", "line 1 has no word in it"),
            ("Hall 1952", "line 1 has figures in it .*; write them as words"),
            ("Łąka", "line 1 has the letter Ł in it; write the name in letters from a to z"),
            ("Ellerby =", "line 1 doesn't say how ellerby is said"),
            ("Tarn Valley = tarn valet", "line 1 says how .*; give each word its own line"),
        ],
    )
    def test_a_line_that_names_nothing_is_refused(self, line: str, problem: str) -> None:
        with pytest.raises(UsageError, match=f"^names.txt can't be used: {problem}"):
            parse_names(line, origin="names.txt")

    def test_every_bad_line_is_named(self) -> None:
        with pytest.raises(UsageError, match=r"line 1 has figures .*; line 3 has no word"):
            parse_names("1952\nTarnfoot\n???", origin="names.txt")


class TestPronunciation:
    def test_a_name_sounds_like_the_words_that_say_it(self) -> None:
        known = {"quill": (("K", "W", "IH", "L"),)}
        lexicon = make_own_lexicon(own_words("Quillhaven = quill haven\nGreen Valley"), known)
        assert lexicon["quillhaven"] == (("K", "W", "IH", "L", "HH", "EY", "V", "AH", "N"),)
        assert {"green", "valley"} < set(lexicon)

    def test_a_known_word_can_be_said_otherwise_too(self) -> None:
        known = read_lexicon(SHIPPED / "graph")
        lexicon = make_own_lexicon(own_words("Leaf = leave"), known)
        assert lexicon == {"leaf": (*known["leave"], *known["leaf"])}

    def test_words_of_terms_are_said_too(self) -> None:
        """And their plurals."""
        known = {"lampcrest": (("L",),), "badge": (("B",),), "badges": (("B",),)}
        lexicon = make_own_lexicon(own_words("Lampcrests = lamp crests", LAMP_BADGE), known)
        assert set(lexicon) == {"lampcrests", "lamplighter's"}

    def test_what_no_dictionary_has_is_said_to_be_guessed(self) -> None:
        """What the list tells, and what the dictionary has, is not."""
        own = OwnWords(
            names=parse_names("Quillhaven = quill haven\nBrambleskerry\nMarsh", origin="x")
        )
        assert find_guessed(own, ("quillhaven", "brambleskerry", "marsh")) == ("brambleskerry",)

    def test_where_nobody_knows_how_a_word_is_said_the_list_must_say(
        self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        """Without flite, which would guess; every such word is named at once."""
        monkeypatch.setenv("PATH", str(tmp_path))
        with pytest.raises(
            UsageError,
            match=r"^No dictionary here has pellgate, tarnfoot; write .* \('pellgate = ...'\), or ",
        ):
            make_own_lexicon(own_words("Tarnfoot\nPellgate\nQuillhaven = quill haven"), {})


class TestNotes:
    def test_own_names_occur_in_notes_of_many_kinds(self) -> None:
        """As often as the model is to hear of them."""
        notes = list(iter_own_notes(own_words("Quillhaven")))
        assert all("quillhaven" in note for note, _ in notes)
        assert len({" ".join(note) for note, _ in notes}) > 200
        assert sum(weight for _, weight in notes) == pytest.approx(NOTES_A_NAME)

    @pytest.mark.parametrize("field", list(TermField))
    def test_terms_of_every_field_occur_too(self, field: TermField) -> None:
        """With all that people say for them, and in plurals where things are counted."""
        term = Concept(id="x", field=field, term="ember", variants=("glow lamp",))
        notes = [" ".join(note) for note, _ in iter_own_notes(own_words("", term))]
        assert all("ember" in note or "glow lamp" in note for note in notes)
        assert len(set(notes)) >= 10

    def test_all_other_words_of_the_notes_are_known_to_the_model(self) -> None:
        """Else they would be told of as unknown."""
        terms = [Concept(id="x", field=field, term="postcard") for field in TermField]
        notes = iter_own_notes(own_words("Oak Hall\nTarn Valley", *terms))
        words = {word for note, _ in notes for word in note}
        assert words - {"tarn"} <= set(read_lexicon(SHIPPED / "graph"))

    def test_the_article_is_that_of_the_name(self) -> None:
        notes = [" ".join(note) for note, _ in iter_own_notes(own_words("Ellerby\nTarnfoot"))]
        assert any("an ellerby" in note for note in notes)
        assert any("a tarnfoot" in note for note in notes)
        assert not any(re.search(r"\ba ellerby|\ban tarnfoot", note) for note in notes)
