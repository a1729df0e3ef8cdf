"""Places as people name them, near misses included."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.sayings import bare, sayings
from voicelog.domain.entry import Side
from voicelog.domain.place import (
    Place,
    leaf_of_page,
    make_insert,
    next_leaf,
    parse_leaf,
    previous_leaf,
)
from voicelog.domain.statement import Step
from voicelog.extraction.places.grammar import PlaceGrammar, PlaceReading
from voicelog.extraction.tokens import tokenize

ITEMS = frozenset({"postcard", "postcards", "autograph", "ticket", "tickets", "map", "report"})


def read(text: str) -> tuple[PlaceReading, str] | None:
    """Return the place that a text begins with, and the words left over."""
    tokens = tokenize(text)
    item_starts = frozenset(at for at, token in enumerate(tokens) if token.norm in ITEMS)
    reading = PlaceGrammar().read(tokens, 0, item_starts)
    if reading is None:
        return None
    return reading, " ".join(token.norm for token in tokens[reading.end :])


def named(text: str) -> tuple[str, str] | None:
    """Return "leaf/side" of the place that a text begins with, and the words left over."""
    found = read(text)
    if found is None or found[0].place is None:
        return None
    place = found[0].place
    return f"{place.leaf}/{place.side or ''}", found[1]


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ("leaf seven", "7/recto"),
        ("leaf 7", "7/recto"),
        ("folio seven", "7/recto"),
        ("leaf number fourteen", "14/recto"),
        ("leaf no. 14", "14/recto"),
        ("leaf #14", "14/recto"),
        ("leaf one four", "14/recto"),
        ("leaf one oh two", "102/recto"),
        ("leaf a hundred and two", "102/recto"),
        ("leaf one hundred and two verso", "102/verso"),
        ("leaf fourteen, verso", "14/verso"),
        ("leaf 14 v", "14/verso"),
        ("leaf 14r", "14/recto"),
        ("14v", "14/verso"),
        ("fourteen verso", "14/verso"),
        ("fourteenth leaf verso", "14/verso"),
        ("14th leaf", "14/recto"),
        ("verso of leaf 14", "14/verso"),
        ("recto of the fourteenth leaf", "14/recto"),
        ("back of leaf 14", "14/verso"),
        ("front of the leaf 14", "14/recto"),
        ("leaf 14 back side", "14/verso"),
    ],
)
def test_leaves_and_sides(said: str, place: str) -> None:
    assert named(said) == (place, "")


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ("leaf 7a", "7A/recto"),
        ("leaf 7A", "7A/recto"),
        ("leaf 7 A", "7A/recto"),
        ("leaf seven a", "7A/recto"),
        ("leaf seven A verso", "7A/verso"),
        ("leaf seven alpha", "7A/recto"),
        ("leaf seven bravo, verso", "7B/verso"),
        ("leaf 7b recto", "7B/recto"),
        ("7A", "7A/recto"),
        ("7A verso", "7A/verso"),
    ],
)
def test_lettered_leaves(said: str, place: str) -> None:
    assert named(said) == (place, "")


@pytest.mark.parametrize(
    ("said", "place", "left"),
    [
        ("leaf seven a postcard", "7/recto", "a postcard"),
        ("leaf seven an autograph", "7/recto", "an autograph"),
        ("leaf seven A a postcard", "7A/recto", "a postcard"),
        ("leaf seven, a postcard", "7/recto", ", a postcard"),
        ("leaf seven i think", "7/recto", "i think"),
        ("leaf seven one postcard", "7/recto", "one postcard"),
        ("leaf one two postcards", "1/recto", "two postcards"),
        ("leaf one two three postcards", "12/recto", "three postcards"),
        ("leaf one two report cards", "1/recto", "two report cards"),
        ("leaf one four postcard", "14/recto", "postcard"),
        ("leaf one four is torn", "14/recto", "is torn"),
        ("leaf one four has foxing", "14/recto", "has foxing"),
        ("leaf twenty, one postcard", "20/recto", ", one postcard"),
        ("leaf 7 2 tickets", "7/recto", "2 tickets"),
        ("leaf 7 x 9", "7/recto", "x 9"),
        ("leaf seven front cover", "7/recto", "front cover"),
        ("leaf fourteen, back torn", "14/recto", ", back torn"),
    ],
)
def test_near_misses_keep_their_words(said: str, place: str, left: str) -> None:
    assert named(said) == (place, left)


@pytest.mark.parametrize(
    "said",
    [
        "leaf zero",
        "leaf 0",
        "leaf oh dear",
        "leaf x",
        "leaf 12345",
        "leaf minus 7",
        "page 0",
        "leaves a mark",
        "page marked 7",
        "fourteen",
        "fourteen tickets",
        "1952",
        "between 1948 and 1952",
        "between the lines",
        "between 7 o'clock and 8",
        "front",
        "cover",
        "side",
        "next",
        "insert",
    ],
)
def test_near_misses_are_no_place(said: str) -> None:
    assert named(said) is None


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ("front cover", "front cover/"),
        ("upper cover", "front cover/"),
        ("front board", "front cover/"),
        ("inside front cover", "inside front cover/"),
        ("inside of the front cover", "inside front cover/"),
        ("inside the front cover", "inside front cover/"),
        ("front inside cover", "inside front cover/"),
        ("inside back cover", "inside back cover/"),
        ("inside the rear cover", "inside back cover/"),
        ("back cover", "back cover/"),
        ("rear cover", "back cover/"),
        ("lower cover", "back cover/"),
        ("spine", "spine/"),
        ("flyleaf", "flyleaf/recto"),
        ("fly leaf", "flyleaf/recto"),
        ("front flyleaf verso", "flyleaf/verso"),
        ("flyleaf, verso", "flyleaf/verso"),
        ("back flyleaf", "back flyleaf/recto"),
        ("rear fly leaf verso", "back flyleaf/verso"),
    ],
)
def test_covers_and_flyleaves(said: str, place: str) -> None:
    assert named(said) == (place, "")


@pytest.mark.parametrize(
    ("said", "leaf", "is_doubtful"),
    [
        ("between 12 and 13", "between 12 and 13", False),
        ("between leaves twelve and thirteen", "between 12 and 13", False),
        ("between leaf 12 and leaf 13", "between 12 and 13", False),
        ("inserted between leaves 12 and 13", "between 12 and 13", False),
        ("between thirteen and twelve", "between 12 and 13", False),
        ("between 7A and 8", "between 7A and 8", False),
        ("between leaves 7 and 7A", "between 7 and 7A", False),
        ("between leaves seven a and seven b", "between 7A and 7B", False),
        ("between pages 30 and 31", "between 15 and 16", False),
        ("between pages thirty and thirty one", "between 15 and 16", False),
        ("between pages 29 and 30", "between 15 and 16", True),
        ("between 12 and 15", "between 12 and 15", True),
        ("between 7 and 7", "between 7 and 7", True),
    ],
)
def test_inserts(said: str, leaf: str, *, is_doubtful: bool) -> None:
    found = read(said)
    assert found is not None
    reading, left = found
    assert (reading.place, left) == (Place(leaf=leaf), "")
    assert bool(reading.doubts) is is_doubtful


@pytest.mark.parametrize(
    ("said", "step"),
    [
        ("next leaf", Step.NEXT_LEAF),
        ("following leaf", Step.NEXT_LEAF),
        ("on to the next leaf", Step.NEXT_LEAF),
        ("next page", Step.NEXT_PAGE),
        ("previous leaf", Step.PREVIOUS_LEAF),
        ("back one leaf", Step.PREVIOUS_LEAF),
        ("previous page", Step.PREVIOUS_PAGE),
        ("facing page", Step.FACING_PAGE),
        ("opposite page", Step.FACING_PAGE),
        ("page opposite", Step.FACING_PAGE),
        ("turn over", Step.TURN_OVER),
        ("turn the page", Step.TURN_OVER),
        ("turn the leaf over", Step.TURN_OVER),
        ("overleaf", Step.TURN_OVER),
        ("other side of the leaf", Step.TURN_OVER),
    ],
)
def test_steps(said: str, step: Step) -> None:
    found = read(said)
    assert found is not None
    assert (found[0].step, found[1]) == (step, "")


@pytest.mark.parametrize(
    ("said", "places"),
    [
        ("leaves ten to twelve", ["10/", "11/", "12/"]),
        ("leaves 3, 4 and 7", ["3/", "4/", "7/"]),
        ("leaf 3 to 5", ["3/", "4/", "5/"]),
        ("pages 5 and 6", ["3/recto", "3/verso"]),
        ("pages five to eight", ["3/recto", "3/verso", "4/recto", "4/verso"]),
        ("pages 5-6", ["3/recto", "3/verso"]),
    ],
)
def test_several_places(said: str, places: list[str]) -> None:
    found = read(said)
    assert found is not None
    assert [f"{place.leaf}/{place.side or ''}" for place in found[0].places] == places


class TestPages:
    """Page p is leaf (p + 1) // 2, odd pages are rectos (common practice, no published source)."""

    @given(page=st.integers(1, 999), data=st.data())
    def test_a_page_is_one_side_of_a_leaf(self, page: int, data: st.DataObject) -> None:
        side = Side.RECTO if page % 2 else Side.VERSO
        expected = f"{(page + 1) // 2}/{side}"
        assert named(f"page {data.draw(sayings(page))}") == (expected, "")

    @given(leaf=st.integers(1, 400), first_page=st.integers(1, 20))
    def test_two_pages_make_a_leaf(self, leaf: int, first_page: int) -> None:
        recto = leaf_of_page(first_page + 2 * leaf - 2, first_page=first_page)
        verso = leaf_of_page(first_page + 2 * leaf - 1, first_page=first_page)
        assert (recto, verso) == (
            Place(leaf=str(leaf), side=Side.RECTO),
            Place(leaf=str(leaf), side=Side.VERSO),
        )

    def test_a_side_that_contradicts_the_page_is_doubted(self) -> None:
        found = read("page 27 verso")
        assert found is not None
        assert found[0].place == Place(leaf="14", side=Side.RECTO)
        assert found[0].doubts

    @pytest.mark.parametrize("said", ["page 4", "pages 3 to 8", "between pages 2 and 3"])
    def test_a_page_before_the_first_leaf_is_no_place(self, said: str) -> None:
        assert PlaceGrammar(first_page=5).read(tokenize(said), 0) is None


class TestLeafNumbers:
    """Any leaf in any style."""

    @given(
        number=st.integers(1, 999),
        letter=st.sampled_from(["", "A", "B"]),
        side=st.sampled_from(["", "recto", "verso"]),
        data=st.data(),
    )
    def test_words_and_figures_name_the_same_leaf(
        self, number: int, letter: str, side: str, data: st.DataObject
    ) -> None:
        said = " ".join(filter(None, ["leaf", data.draw(sayings(number)), letter, side]))
        written = " ".join(filter(None, [f"leaf {number}{letter}", side]))
        expected = f"{number}{letter}/{side or 'recto'}"
        assert named(said) == named(written) == (expected, "")

    @given(first=st.integers(1, 999))
    def test_an_insert_lies_between_two_leaves_and_leads_to_the_second(self, first: int) -> None:
        said = f"between leaves {bare(first)} and {bare(first + 1)}"
        insert = make_insert(str(first), str(first + 1))
        assert named(said) == (f"{insert.leaf}/", "")
        assert next_leaf(insert) == Place(leaf=str(first + 1), side=Side.RECTO)
        assert previous_leaf(insert) == Place(leaf=str(first), side=Side.RECTO)
        assert parse_leaf(insert.leaf) == insert.leaf

    @given(text=st.text(max_size=60))
    def test_no_text_is_too_odd(self, text: str) -> None:
        tokens = tokenize(text)
        for start in range(len(tokens)):
            reading = PlaceGrammar().read(tokens, start)
            assert reading is None or start < reading.end <= len(tokens)
