"""What can be typed into a field, what it comes to, and what is refused with which words."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.domain.place import Place
from voicelog.errors import ValueRefused
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.review.typed_values import TypedValues
from voicelog.vocabulary import load_vocabulary

ACCEPTED = (
    # field | typed | value
    ("date", "June 4 1952", "1952-06-04"),
    ("date", "1952-06-04", "1952-06-04"),
    ("date", "about 1960", "1960~"),
    ("date", "the fifties", "195X"),
    ("date", "1960~", "1960~"),
    ("date", "XXXX-06-04", "XXXX-06-04"),
    ("date", "[1952..1955]", "[1952..1955]"),
    ("date", "between 1952 and 1955", "[1952..1955]"),
    ("date", "1930-33", "1930/1933"),
    ("date", "  ", None),
    ("dimensions", "four and a quarter by six inches", (108.0, 152.4)),
    ("dimensions", "4 1/4 x 6", (108.0, 152.4)),
    ("dimensions", "108 x 152.4 mm", (108.0, 152.4)),
    ("dimensions", "15 cm wide, 10 high", (100.0, 150.0)),
    ("condition", "foxing; tear", ("foxing", "tear")),
    ("condition", "torn, yellowed", ("tear", "yellowed")),
    ("condition", "stain, unidentified, tear", ("stain, unidentified", "tear")),
    ("condition", "mold", ("mould",)),
    ("condition", "", ()),
    ("attachment", "glue", ("adhesive, unidentified",)),
    ("item_type", "photos", ("photograph",)),
    ("adhesion", "lifting", "partly loose"),
    ("position", "top left", "upper left"),
    ("position", "overlapping", "overlapping"),
    ("binding", "screw posts", "post binding"),
    ("enclosure", "Envelope #12", "envelope 12"),
    ("enclosure", "box one", "box 1"),
    ("quantity", "two", 2),
    ("images", "27 to 30", (27, 28, 29, 30)),
    ("images", "27; 29", (27, 29)),
    ("accession", "2031-007", "2031-007"),
    ("accession", "twenty thirty one dash zero zero seven", "2031-007"),
    ("accession", "TVRO/2031/7", "TVRO/2031/7"),
    ("blank", "Yes", True),
    ("access", "restricted", "restricted"),
    ("caption", " <b>Weir</b>\n& \u05e9\u05dc ", "<b>Weir</b> & \u05e9\u05dc"),
)  # fmt: skip

REFUSED = (
    # field | typed | what the sentence says
    ("date", "30 February 1952", "no such date as '30 February 1952'); type a day that the cal"),
    ("date", "yesterday", "'yesterday' is no value for date; type a date, such as June 4 1952"),
    ("dimensions", "108", "type height by width, such as"),
    ("dimensions", "10 x 15 x 2 cm", "type height by width"),
    ("condition", "foxxed", "'foxxed' is no term for condition; did you mean"),
    ("condition", "qwrtz", "is no term for condition; 'voicelog vocabulary' lists its terms"),
    ("enclosure", "envelope", "type an enclosure and its number"),
    ("quantity", "", "type a whole number from 1"),
    ("quantity", "0", "type a whole number from 1"),
    ("images", "some", "type image numbers"),
    ("access", "secret", "type open or restricted"),
    ("blank", "maybe", "type yes or no"),
    ("status", "confirmed", "status is not typed in"),
    ("caption", "a\x00b", "holds control characters"),
    ("caption", "x" * 10_001, "has 10001 characters; 10000 are the most"),
)


@pytest.fixture(scope="module")
def values(reader: Reader) -> TypedValues:
    return TypedValues(reader)


@pytest.mark.parametrize(("field", "typed", "value"), ACCEPTED)
def test_what_is_typed_comes_to(values: TypedValues, field: str, typed: str, value: object) -> None:
    """As the reader would read it, or as the log stores it."""
    assert values.parse(field, typed).value == value


@pytest.mark.parametrize(("field", "typed", "says"), REFUSED)
def test_what_is_refused_says_what_would_do(
    values: TypedValues, field: str, typed: str, says: str
) -> None:
    """The sentence names the field, what is wrong with it, and an example."""
    with pytest.raises(ValueRefused, match=re.escape(says)) as caught:
        values.parse(field, typed)
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ("14", Place(leaf="14", side="recto")),
        ("14r", Place(leaf="14", side="recto")),
        ("fifteen verso", Place(leaf="15", side="verso")),
        ("Page 28", Place(leaf="14", side="verso")),
        ("7a", Place(leaf="7A", side="recto")),
        ("flyleaf verso", Place(leaf="flyleaf", side="verso")),
        ("inside back cover", Place(leaf="inside back cover")),
        ("between 12 and 13", Place(leaf="between 12 and 13")),
    ],
)
def test_places_are_typed_in_any_form(values: TypedValues, typed: str, place: Place) -> None:
    """A leaf without a side is its recto."""
    assert values.parse_place(typed) == place


@pytest.mark.parametrize("typed", ["", "the garden", "14 middle", "leaves ten to twelve", "verso"])
def test_what_names_no_place_is_refused(values: TypedValues, typed: str) -> None:
    """Several places are no place either."""
    with pytest.raises(ValueRefused, match="type a place, such as 14 recto"):
        values.parse_place(typed)


def test_doubts_of_the_reader_are_told_not_stored(values: TypedValues) -> None:
    """A two-digit year is read in the default century; the person sees it before and after."""
    typed = values.parse("date", "4 June '52")
    assert typed.value == "1952-06-04"
    assert len(typed.doubts) == 1


def test_accession_numbers_are_held_against_the_settings() -> None:
    """One that has no shape of the repository's is refused."""
    options = ReadingOptions(accession_patterns=(r"\d{4}-\d{3}",))
    values = TypedValues(Reader(load_vocabulary(), options))
    assert values.parse("accession", "2031.007").value == "2031-007"
    with pytest.raises(ValueRefused, match="has none of the shapes in the settings"):
        values.parse("accession", "31-7")


def test_suggestions_begin_like_what_was_typed(values: TypedValues) -> None:
    """For a list that opens while one types."""
    assert values.suggest("condition", "wat") == ("water stain",)
    assert "tintype" in values.suggest("item_type", "tin tipe")
    assert values.suggest("caption", "wat") == ()


@given(st.text(max_size=40), st.sampled_from(["date", "dimensions", "condition", "images"]))
def test_whatever_is_typed_is_a_value_or_a_sentence(
    values: TypedValues, typed: str, field: str
) -> None:
    """Nothing else ever comes out."""
    sentence = ""
    try:
        values.parse(field, typed)
    except ValueRefused as refusal:
        sentence = str(refusal)
    assert not sentence or sentence.endswith(("?", "."))
