"""The reading rule "Blank": one leaf entry for every leaf said to be blank."""

from __future__ import annotations

import pytest

from tests.extraction.tables import Case, assert_log, case, item, leaf
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
