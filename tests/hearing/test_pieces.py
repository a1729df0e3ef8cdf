"""What two recognisers write for the same speech is the same in pieces."""

from __future__ import annotations

import pytest

from tests.hearing.conftest import untimed, words_of
from voicelog.hearing.pieces import cut_into_pieces


def keys(text: str) -> list[str]:
    return [piece.key for piece in cut_into_pieces(untimed(text))]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Leaf 14, recto.", "leaf fourteen recto"),
        ("accession 2031-007", "accession twenty thirty one dash zero zero seven"),
        ("accession 2031-007", "accession two oh three one dash double oh seven"),
        ("June 4, 1952", "june fourth nineteen fifty two"),
        ("June 4th, 1952", "june fourth nineteen fifty two"),
        ("the 21st", "the twenty first"),
        ("the 1950s", "the nineteen fifties"),
        ("140 millimeters", "one hundred and forty millimetres"),
        ("self-adhesive", "self adhesive"),
        ("Mold, gray", "mould grey"),
    ],
)
def test_one_speech_written_in_two_ways_is_the_same(one: str, other: str) -> None:
    assert keys(one) == keys(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("leaf 14", "leaf forty"),
        ("leaf for", "leaf four"),
        ("1950", "nineteen fifties"),
        ("a", "eight"),
    ],
)
def test_near_misses_stay_apart(one: str, other: str) -> None:
    assert keys(one) != keys(other)


def test_a_piece_knows_its_words_and_their_time() -> None:
    """A number said in several words is one piece from the first to the last of them."""
    _, number = cut_into_pieces(words_of("accession twenty thirty one"))
    assert (number.first, number.end, number.start_s, number.end_s) == (1, 4, 0.5, 2.0)
    assert number.is_number
    assert number.confidence == pytest.approx(0.9)


def test_signs_alone_are_no_pieces() -> None:
    assert keys("leaf , 4 — .") == ["leaf", "4"]


def test_an_unknown_word_says_so() -> None:
    (piece,) = cut_into_pieces(untimed("[unk]"))
    assert piece.is_unknown
