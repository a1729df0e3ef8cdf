"""The reading rule "Place": where a note says that things are."""

from __future__ import annotations

import pytest

from tests.extraction.tables import (
    ANYTHING,
    Case,
    Words,
    assert_log,
    case,
    differences,
    item,
    leaf,
    read_log,
    rows_of,
    volume,
)
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

SIDES = [
    case(
        "A leaf named without a side is its recto",
        "leaf seven, a postcard",
        item("7 recto 1", "postcard"),
    ),
    case(
        "A leaf named with a side keeps it",
        "leaf seven verso, a postcard",
        item("7 verso 1", "postcard"),
    ),
    case("Covers have side null", "front cover, soiled", leaf("front cover", condition=["soiled"])),
    case(
        "Inside covers have side null",
        "inside back cover, a label",
        item("inside back cover 1", "label"),
    ),
    case(
        "A pocket is a place beside the leaves",
        "pocket, a letter",
        item("pocket 1", "letter"),
    ),
    case(
        "Inserts have side null",
        "between leaves twelve and thirteen, a letter",
        item("between 12 and 13 1", "letter"),
    ),
    case(
        "A flyleaf takes a side",
        "flyleaf verso, an autograph",
        item("flyleaf verso 1", "autograph"),
    ),
    case(
        "A back flyleaf takes a side, its recto where none is said",
        "back flyleaf, foxing",
        leaf("back flyleaf recto", condition=["foxing"]),
    ),
]
STEPS = [
    case(
        '"next leaf" goes to the recto of the following number',
        "leaf three verso, a map | next leaf, a ticket",
        item("3 verso 1", "map"),
        item("4 recto 1", "ticket"),
    ),
    case(
        "After 7A: 8",
        "leaf seven A, a map | next leaf, a ticket",
        item("7A recto 1", "map"),
        item("8 recto 1", "ticket"),
    ),
    case(
        "7B only when said",
        "leaf 7A, a map | leaf 7B, a ticket",
        item("7A recto 1", "map"),
        item("7B recto 1", "ticket"),
    ),
    case(
        'After an insert "between 12 and 13": 13',
        "between 12 and 13, a letter | next leaf, a map",
        item("between 12 and 13 1", "letter"),
        item("13 recto 1", "map"),
    ),
    case(
        '"next page" goes recto -> verso',
        "leaf 3, a map | next page, a ticket",
        item("3 recto 1", "map"),
        item("3 verso 1", "ticket"),
    ),
    case(
        '"next page" goes verso -> next recto',
        "leaf 3 verso, a map | next page, a ticket",
        item("3 verso 1", "map"),
        item("4 recto 1", "ticket"),
    ),
    case(
        "The facing page of a verso is the next recto",
        "leaf 3 verso, a map | facing page, a ticket",
        item("3 verso 1", "map"),
        item("4 recto 1", "ticket"),
    ),
    case(
        "The opposite page of a recto is the verso before it",
        "leaf 4, a map | opposite page, a ticket",
        item("3 verso 1", "ticket"),
        item("4 recto 1", "map"),
    ),
    case(
        "Inside front cover and leaf 1 recto face each other, seen from the cover",
        "inside front cover, a label | facing page, a map",
        item("inside front cover 1", "label"),
        item("1 recto 1", "map"),
    ),
    case(
        "Inside front cover and leaf 1 recto face each other, seen from the leaf",
        "leaf 1, a map | facing page, a label",
        item("inside front cover 1", "label"),
        item("1 recto 1", "map"),
    ),
    case(
        '"turn over" goes recto -> verso',
        "leaf 3, a map | turn over, a ticket",
        item("3 recto 1", "map"),
        item("3 verso 1", "ticket"),
    ),
    case(
        '"turn over" goes verso -> next recto',
        "leaf 3 verso, a map | turn over, a ticket",
        item("3 verso 1", "map"),
        item("4 recto 1", "ticket"),
    ),
]
PAGES = [
    case(
        "Pages become leaves: an odd page is a recto",
        "page twenty seven, a postcard",
        item("14 recto 1", "postcard"),
    ),
    case(
        "Pages become leaves: an even page is a verso",
        "page 28, a postcard",
        item("14 verso 1", "postcard"),
    ),
    case(
        '"between pages 30 and 31" is leaf "between 15 and 16"',
        "between pages 30 and 31, a letter",
        item("between 15 and 16 1", "letter"),
    ),
    case(
        '"between pages 29 and 30", the same leaf, raises a doubt',
        "between pages 29 and 30, a letter",
        item("between 15 and 16 1", "letter", leaf=ANYTHING, queried=True),
    ),
    case(
        "The number as marked on the page is kept in the remark when said",
        "leaf three, the page is marked 17",
        leaf("3 recto", remark=Words("17")),
    ),
]
CONTEXT = [
    case(
        "A new accession clears the volume",
        "accession 2031-007 | volume 2 | leaf 1, a map | accession 2031-008 | leaf 1, a ticket",
        volume("2", accession="2031-007"),
        item("1 recto 1", "map", accession="2031-007", volume="2"),
        item("1 recto 1", "ticket", accession="2031-008", volume=None),
    ),
    case(
        "A new accession clears leaf and side",
        "accession 2031-007 | leaf 5 verso, a map | accession 2031-008 | next leaf, a ticket",
        item("5 verso 1", "map", accession="2031-007"),
        item("1 recto 1", "ticket", accession="2031-008"),
    ),
    case(
        "A new volume clears leaf and side",
        "volume 1 | leaf 5 verso, a map | volume 2 | next leaf, a ticket",
        volume("1"),
        item("5 verso 1", "map", volume="1"),
        volume("2"),
        item("1 recto 1", "ticket", volume="2"),
    ),
    case(
        "Naming a volume again by number continues its one entry",
        "volume one, post binding | volume two | volume one, black paper",
        volume("1", binding="post binding", support="black paper"),
        volume("2"),
    ),
    case(
        "Naming a volume again by the donor's name continues its one entry",
        "volume one, the green book | volume two, the picnic album | the green book, post binding",
        volume("1", volume_name="the green book", binding="post binding"),
        volume("2", volume_name="the picnic album"),
    ),
    case(
        '"volume one, the green book" ties the two names together, and earlier rows follow',
        "volume one | leaf 2, a map | volume one, the green book",
        volume("1", volume_name="the green book"),
        item("2 recto 1", "map", volume="1", volume_name="the green book"),
    ),
    case(
        "Earlier rows follow when a volume known by its name gets a number",
        "volume called the green book | leaf 2, a map | volume one, the green book",
        volume("1", volume_name="the green book"),
        item("2 recto 1", "map", volume="1", volume_name="the green book"),
    ),
    case("An accession alone makes no entry", "accession 2031-007"),
    case(
        "A leaf merely passed over makes no entry",
        "leaf five | leaf six, a map",
        item("6 recto 1", "map"),
    ),
    case(
        "Correcting a place moves the context too",
        "leaf 14, a postcard | correction, leaf fifteen | a ticket",
        item("15 recto 1", "postcard"),
        item("15 recto 2", "ticket"),
    ),
]
OF_THE_VOLUME = [
    case(
        "What is said about binding and support goes to the volume entry",
        "volume one | leaf 3, a postcard | post binding, black paper",
        volume("1", binding="post binding", support="black paper"),
        item("3 recto 1", "postcard"),
    ),
    case(
        "What is said about the overlay goes to the volume entry",
        "volume one | leaf 3 | overlay of clear plastic",
        volume("1", overlay="clear plastic"),
    ),
    case(
        "What is said about its size goes to the volume entry",
        "volume one | the volume measures twelve by ten inches",
        volume("1", dimensions=[304.8, 254.0]),
    ),
    case(
        "What is said about the number of leaves goes to the volume entry",
        "volume one | forty leaves",
        volume("1", leaves=40),
    ),
    case(
        "Anything said before the first leaf goes to the volume entry",
        "volume 1 | leaf 5, a map | volume 2 | soiled",
        volume("1"),
        item("5 recto 1", "map", volume="1"),
        volume("2", condition=["soiled"]),
    ),
]


class TestPlace:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", SIDES, ids=str)
    def test_a_side_is_said_or_taken_from_the_kind_of_place(
        self, row: Case, reader: Reader
    ) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", STEPS, ids=str)
    def test_steps_go_on_from_where_one_is(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", PAGES, ids=str)
    def test_pages_become_leaves_everywhere(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", CONTEXT, ids=str)
    def test_accession_volume_and_leaf_stay_until_changed(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", OF_THE_VOLUME, ids=str)
    def test_what_is_said_of_the_volume_goes_to_its_entry(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    def test_which_page_counts_as_leaf_1_recto_is_a_setting(self) -> None:
        begins_at_five = Reader(load_vocabulary(), ReadingOptions(first_page=5))
        log = read_log(["page 5, a map", "page eight, a ticket"], begins_at_five)
        assert not differences(
            [item("1 recto 1", "map"), item("2 verso 1", "ticket")], rows_of(log.entries())
        )
