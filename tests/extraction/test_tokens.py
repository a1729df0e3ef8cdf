"""Tokens keep their place in the note, whatever stands in it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.extraction.tokens import tokenize


@pytest.mark.parametrize(
    ("text", "norms"),
    [
        ("Leaf 7A, verso", "leaf 7 a , verso"),
        ("twenty-one", "twenty one"),
        ("self-adhesive page", "self adhesive page"),
        ("2031-007", "2031 - 007"),
        ("2031–007", "2031 - 007"),
        ("4x6", "4 x 6"),
        ("4¼ × 6", "4 1/4 x 6"),
        ("1,948 leaves", "1948 leaves"),
        ("3,4", "3 , 4"),
        ("14th", "14 th"),
        ("1950s", "1950 s"),
        ("it's won’t", "it 's won't"),
        ("clip & pin", "clip and pin"),
        ("", ""),
    ],
)
def test_said_and_expected(text: str, norms: str) -> None:
    assert " ".join(token.norm for token in tokenize(text)) == norms


@given(text=st.text(st.characters(codec=None), max_size=200))
def test_every_token_is_a_stretch_of_the_text_in_order(text: str) -> None:
    end = 0
    for token in tokenize(text):
        assert end <= token.first < token.last <= len(text)
        assert text[token.first : token.last] == token.text
        assert token.norm
        token.norm.encode("utf-8")
        end = token.last


@given(text=st.text(max_size=200))
def test_no_letter_or_figure_is_dropped(text: str) -> None:
    kept = {at for token in tokenize(text) for at in range(token.first, token.last)}
    assert not [char for at, char in enumerate(text) if char.isalnum() and at not in kept]
