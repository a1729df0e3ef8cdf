"""A repository's own names are read, pronounced and put into notes."""

from __future__ import annotations

from pathlib import Path

import pytest

from models.recipe.adapt import iter_own_notes, own_lexicon, read_names


def test_a_name_may_say_how_it_is_said() -> None:
    """Capitals, blank lines and notes behind a hash make no difference."""
    text = "# our places\nQuillhaven = quill haven\n\nTarn Valley\n"
    assert read_names(text) == {"quillhaven": "quill haven", "tarn valley": "tarn valley"}


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("= quill haven", "line 1 has no word in it"),
        ("1952", "line 1 has no word in it"),
        ("Tarn Valley = tarn valet", "give each of its words a line"),
    ],
)
def test_a_line_that_names_nothing_is_refused(line: str, problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        read_names(line)


def test_a_name_sounds_like_the_words_that_say_it() -> None:
    lexicon = own_lexicon({"quillhaven": "quill haven", "green valley": "green valley"})
    assert lexicon["quillhaven"] == (("K", "W", "IH", "L", "HH", "EY", "V", "AH", "N"),)
    assert {"green", "valley"} < set(lexicon)


def test_own_names_occur_in_notes_of_many_kinds() -> None:
    notes = list(iter_own_notes(["quillhaven"]))
    assert all("quillhaven" in note for note in notes)
    assert len(set(notes)) > 50


def test_the_recipe_says_how_a_model_is_adapted() -> None:
    """The command stands where somebody looks for it."""
    readme = Path(__file__).parents[2] / "models" / "README.md"
    assert "python -m models.recipe.adapt" in readme.read_text("utf-8")
