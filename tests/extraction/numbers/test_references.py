"""Accession numbers in words, figures, mixtures and spelling alphabets."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.sayings import RADIO, said_digits
from voicelog.extraction.numbers.references import read_reference
from voicelog.extraction.tokens import tokenize

SEPARATORS = {
    "-": ["-", "–", " - ", " dash ", ", dash, ", " hyphen ", " minus "],
    ".": [".", " point ", " dot "],
    "/": ["/", " slash ", " stroke "],
}


def reference(text: str) -> str | None:
    """Return the accession number that a text is, from its first word to its last."""
    tokens = tokenize(text)
    found = read_reference(tokens, 0)
    return found.text if found and found.end == len(tokens) else None


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("2031-007", "2031-007"),
        ("2031 - 007", "2031-007"),
        ("2031–007", "2031-007"),
        ("twenty thirty one dash zero zero seven", "2031-007"),
        ("twenty-thirty-one dash zero-zero-seven", "2031-007"),
        ("two oh three one, dash, double oh seven", "2031-007"),
        ("two zero three one dash oh oh seven", "2031-007"),
        ("two thousand and thirty one dash oh oh seven", "2031-007"),
        ("two thousand thirty one dash 007", "2031-007"),
        ("twenty thirty one hyphen 007", "2031-007"),
        ("20 31 dash 0 0 7", "2031-007"),
        ("twenty thirty one dash o o seven", "2031-007"),
        ("2031 minus 7", "2031-7"),
        ("2031.7", "2031.7"),
        ("twenty thirty one point seven", "2031.7"),
        ("2031/007", "2031/007"),
        ("2031 stroke 7", "2031/7"),
        ("2031:007", "2031:007"),
        ("2031-00-7", "2031-00-7"),
        ("nineteen ninety nine dash one hundred and two", "1999-102"),
        ("nineteen oh five dash fourteen", "1905-14"),
        ("triple seven dash one", "777-1"),
        ("MS 45", "MS45"),
        ("ms forty five", "MS45"),
        ("M S forty five", "MS45"),
        ("mike sierra four five", "MS45"),
        ("alpha bravo twelve", "AB12"),
        ("A-12", "A-12"),
        ("x-ray seven", "X7"),
        ("O 12", "O12"),
        ("T.2031.7", "T.2031.7"),
        ("2031-007a", "2031-007A"),
        ("2031-007 alpha", "2031-007A"),
        ("2031-007-A", "2031-007-A"),
        ("Quebec Lima nineteen fifty two dash three", "QL1952-3"),
    ],
)
def test_said_and_written(said: str, written: str) -> None:
    assert reference(said) == written


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("2031-007.", "2031-007"),
        ("2031-007, volume one", "2031-007"),
        ("2031-007 a scrapbook", "2031-007"),
        ("2031-007 volume one", "2031-007"),
        ("twenty thirty one dash seven and a map", "2031-7"),
        ("2031 - a map", "2031"),
        ("2031. Volume 1", "2031"),
    ],
)
def test_it_ends_before_what_is_no_part_of_it(said: str, written: str) -> None:
    tokens = tokenize(said)
    found = read_reference(tokens, 0)
    assert found is not None
    assert (found.text, found.end < len(tokens)) == (written, True)


@pytest.mark.parametrize(
    "said", ["a scrapbook", "the green book", "alpha", "MS", "dash seven", "-7", "-", "", "i think"]
)
def test_near_misses_are_no_accession(said: str) -> None:
    tokens = tokenize(said)
    assert not tokens or read_reference(tokens, 0) is None


@given(
    groups=st.lists(st.text(string.digits, min_size=1, max_size=4), min_size=1, max_size=3),
    sign=st.sampled_from("-./"),
    data=st.data(),
)
def test_any_way_of_saying_the_digits_gives_the_same_number(
    groups: list[str], sign: str, data: st.DataObject
) -> None:
    said = data.draw(said_digits(groups[0]))
    for group in groups[1:]:
        # A sign between words is said; written signs stand between figures.
        spoken = [wording for wording in SEPARATORS[sign] if wording.strip(" ,").isalpha()]
        said += data.draw(st.sampled_from(spoken)) + data.draw(said_digits(group))
    assert reference(said) == sign.join(groups)


@given(groups=st.lists(st.text(string.digits, min_size=1, max_size=5), min_size=1, max_size=4),
       sign=st.sampled_from("-./"), data=st.data())  # fmt: skip
def test_written_and_spoken_signs_give_the_same_number(
    groups: list[str], sign: str, data: st.DataObject
) -> None:
    said = groups[0]
    for group in groups[1:]:
        said += data.draw(st.sampled_from(SEPARATORS[sign])) + group
    assert reference(said) == sign.join(groups)


@given(letters=st.text(string.ascii_uppercase, min_size=1, max_size=4), number=st.integers(1, 9999))
def test_letters_may_be_spelled_in_the_radio_alphabet(letters: str, number: int) -> None:
    by_radio = " ".join(RADIO[ord(letter) - ord("A")] for letter in letters)
    spelled = " ".join(letters)
    assert reference(f"{by_radio} {number}") == f"{letters}{number}"
    assert reference(f"{spelled} {number}") == f"{letters}{number}"
    # Run together, these two letters are the word for nought.
    if letters != "OH":
        assert reference(f"{letters} {number}") == f"{letters}{number}"
