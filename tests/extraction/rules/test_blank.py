"""The reading rule "Blank": one leaf entry for every leaf said to be blank."""

from __future__ import annotations

import pytest

from tests.extraction.tables import Case, Words, assert_log, case, item, leaf
from voicelog.extraction.reader import Reader

BLANK = [
    case("Both sides are meant: side null", "leaf nine blank", leaf("9", blank=True)),
    case(
        'Both sides are meant: "blank both sides"',
        "leaf nine | blank both sides",
        leaf("9", blank=True),
    ),
    case(
        "Both sides are meant, said in one note",
        "leaf nine, blank both sides",
        leaf("9", blank=True),
    ),
    case(
        "One leaf entry per leaf said to be blank",
        "leaves ten to twelve blank",
        leaf("10", blank=True),
        leaf("11", blank=True),
        leaf("12", blank=True),
    ),
    case(
        "Two leaves named with the word for one",
        "leaf nine and ten blank",
        leaf("9", blank=True),
        leaf("10", blank=True),
    ),
    case(
        "But a leaf and two postcards are no two leaves",
        "leaf nine and two postcards",
        item("9 recto 1", "postcard", quantity=2),
    ),
    case(
        "Two sides named together",
        "leaf nine verso and leaf ten recto blank",
        leaf("9 verso", blank=True),
        leaf("10 recto", blank=True),
    ),
    case(
        "Every side from the one to the other",
        "leaf nine verso to leaf eleven recto blank",
        leaf("9 verso", blank=True),
        leaf("10", blank=True),
        leaf("11 recto", blank=True),
    ),
    case(
        "The next leaves, counted",
        "leaf 8, a map | the next two leaves are blank | next leaf, a menu",
        item("8 recto 1", "map"),
        leaf("9", blank=True),
        leaf("10", blank=True),
        item("11 recto 1", "menu"),
    ),
    case(
        "The next pages, counted",
        "leaf 8, a map | next two pages blank",
        item("8 recto 1", "map"),
        leaf("8 verso", blank=True),
        leaf("9 recto", blank=True),
    ),
    case(
        "No items is not blank: somebody may have written there",
        "leaf four, no items",
        leaf("4 recto", remark=Words("no items")),
    ),
    case(
        '"next leaf, blank" is the recto just reached',
        "leaf 8, a map | next leaf, blank",
        item("8 recto 1", "map"),
        leaf("9 recto", blank=True),
    ),
    case(
        '"verso blank" is the verso',
        "leaf 9, a map | verso blank",
        item("9 recto 1", "map"),
        leaf("9 verso", blank=True),
    ),
    case(
        "A side said with the leaf is the only blank one",
        "leaf nine verso, blank",
        leaf("9 verso", blank=True),
    ),
    case(
        "Blank pages 5 and 6 are both sides of leaf 3",
        "pages 5 and 6 blank",
        leaf("3", blank=True),
    ),
    case(
        "Blank pages 5 and 6 are both sides of leaf 3, said the other way round",
        "blank pages five and six",
        leaf("3", blank=True),
    ),
    case("One blank page is one side", "page 6 blank", leaf("3 verso", blank=True)),
]


class TestBlank:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", BLANK, ids=str)
    def test_a_blank_leaf_or_side_gets_one_entry(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)
