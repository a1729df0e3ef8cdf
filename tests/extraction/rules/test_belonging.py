"""The reading rule "To whom it belongs": which row a value goes to."""

from __future__ import annotations

import pytest

from tests.extraction.tables import Case, Words, assert_log, case, item, leaf, volume
from voicelog.extraction.reader import Reader

NEAREST = [
    case(
        "An attribute belongs to the item before it in the note",
        "leaf 3, a postcard, torn, and a ticket, faded",
        item("3 recto 1", "postcard", condition=["tear"]),
        item("3 recto 2", "ticket", condition=["faded"]),
    ),
    case(
        "Else to the latest item of the side",
        "leaf 3, a postcard | a ticket | yellowed",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "ticket", condition=["yellowed"]),
    ),
    case(
        "Of the side: a new side has no latest item",
        "leaf 3, a postcard | verso | foxing",
        item("3 recto 1", "postcard"),
        leaf("3 verso", condition=["foxing"]),
    ),
    case("Else to the leaf", "leaf 3 | foxing", leaf("3 recto", condition=["foxing"])),
]
TOGETHER = [
    case(
        '"both" in a note covers every item of that note',
        "leaf 3, a postcard and a ticket, both torn",
        item("3 recto 1", "postcard", condition=["tear"]),
        item("3 recto 2", "ticket", condition=["tear"]),
    ),
    case(
        '"all" in a note covers every item of that note',
        "leaf 3, a postcard, a ticket and a map, all loose",
        item("3 recto 1", "postcard", adhesion="loose"),
        item("3 recto 2", "ticket", adhesion="loose"),
        item("3 recto 3", "map", adhesion="loose"),
    ),
    case(
        '"each" in a note covers every item of that note',
        "leaf 3, a postcard and a ticket, each with photo corners",
        item("3 recto 1", "postcard", attachment=["photo corners"]),
        item("3 recto 2", "ticket", attachment=["photo corners"]),
    ),
    case(
        "As a note of its own, the last note's items",
        "leaf 3, a map | a postcard and a ticket | both torn",
        item("3 recto 1", "map"),
        item("3 recto 2", "postcard", condition=["tear"]),
        item("3 recto 3", "ticket", condition=["tear"]),
    ),
    case(
        "As a note of its own, or the last two",
        "leaf 3, a map | a postcard | a ticket | both torn",
        item("3 recto 1", "map"),
        item("3 recto 2", "postcard", condition=["tear"]),
        item("3 recto 3", "ticket", condition=["tear"]),
    ),
]
NAMED = [
    case(
        'A named subject wins: "the leaf"',
        "leaf 3, a postcard | the leaf is brittle",
        leaf("3 recto", condition=["brittle"]),
        item("3 recto 1", "postcard"),
    ),
    case(
        'A named subject wins: "this page"',
        "leaf 3, a postcard, this page is cockled",
        leaf("3 recto", condition=["cockled"]),
        item("3 recto 1", "postcard"),
    ),
    case(
        'A named subject wins: "the volume"',
        "volume 1 | leaf 3, a postcard | the volume is soiled",
        volume("1", condition=["soiled"]),
        item("3 recto 1", "postcard"),
    ),
    case(
        'A named subject wins: "the cover"',
        "volume 1 | front cover, a label | the cover is soiled",
        volume("1"),
        leaf("front cover", condition=["soiled"]),
        item("front cover 1", "label"),
    ),
    case(
        '"on the leaf" after a condition says whose it is',
        "leaf 3, a photograph, came off | residue on the leaf",
        leaf("3 recto", condition=["adhesive residue"]),
        item("3 recto 1", "photograph", action=["detached"], adhesion="loose"),
    ),
    case(
        '"on top of" is how one item lies to another, no position',
        "leaf 3, a letter | photo on top of the letter",
        item("3 recto 1", "letter"),
        item("3 recto 2", "photograph", relations=[("overlapping", "letter")]),
    ),
    case(
        "How it is held, said without saying by what, is not lost",
        "leaf 3, a photograph, stuck",
        item("3 recto 1", "photograph", remark=Words("stuck"), queried=True),
    ),
]
COUNTED = [
    case(
        '"the first one" is the first of the items just named',
        "leaf 3, a map | a postcard and a ticket | the first one torn",
        item("3 recto 1", "map"),
        item("3 recto 2", "postcard", condition=["tear"]),
        item("3 recto 3", "ticket"),
    ),
    case(
        "also within the note that names them",
        "leaf 3, a map | a postcard and a ticket, the first one torn, the second one faded",
        item("3 recto 1", "map"),
        item("3 recto 2", "postcard", condition=["tear"]),
        item("3 recto 3", "ticket", condition=["faded"]),
    ),
    case(
        "the first of the side, where only one was just named",
        "leaf 3, a map | a postcard | a ticket | the first one torn",
        item("3 recto 1", "map", condition=["tear"]),
        item("3 recto 2", "postcard"),
        item("3 recto 3", "ticket"),
    ),
    case(
        "and where fewer were just named",
        "leaf 3, a map | a postcard and a ticket | the third one torn",
        item("3 recto 1", "map"),
        item("3 recto 2", "postcard"),
        item("3 recto 3", "ticket", condition=["tear"]),
    ),
    case(
        "what is said of one of several pieces is doubtful, since the row is about them all",
        "leaf 3, a map | two postcards | the first one torn",
        item("3 recto 1", "map"),
        item("3 recto 2", "postcard", quantity=2, condition=["tear"], queried=True),
    ),
    case(
        "one that is not there is doubtful",
        "leaf 3, a postcard and a ticket | the fourth one torn",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "ticket", condition=["tear"], queried=True),
    ),
    case(
        "what is dated, enclosed or corrected is counted like this as well",
        "leaf 3, a postcard and a ticket, torn | the first one is dated 1952 "
        "| the second one goes in envelope 7 | correction, the second one faded",
        item("3 recto 1", "postcard", date="1952"),
        item(
            "3 recto 2",
            "ticket",
            condition=["faded"],
            action=["enclosed"],
            enclosure="envelope 7",
        ),
    ),
    case(
        "a volume may be called so, where it is named as one",
        "volume two, the first one",
        volume("2", volume_name="the first one"),
    ),
]
IMAGES = [
    case(
        "Image numbers go to the item of the same note, and set no action",
        "leaf 3, a postcard, image 27",
        item("3 recto 1", "postcard", images=[27]),
    ),
    case(
        "Image numbers go else to the side",
        "leaf 3, a postcard | images 28 and 29",
        leaf("3 recto", images=[28, 29]),
        item("3 recto 1", "postcard"),
    ),
    case(
        "Image numbers after a place alone go to the side",
        "leaf 3 verso, image thirty",
        leaf("3 verso", images=[30]),
    ),
]
MISSING = [
    case(
        '"postcard missing, residue only" is an item with condition "missing item"',
        "leaf 3, postcard missing, residue only",
        item("3 recto 1", "postcard", condition=["missing item"]),
    ),
    case(
        "With no type named it is a leaf entry",
        "leaf 3, residue only",
        leaf("3 recto", condition=["missing item"]),
    ),
]


class TestToWhomItBelongs:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", NEAREST, ids=str)
    def test_a_value_belongs_to_what_was_named_last(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", TOGETHER, ids=str)
    def test_both_all_and_each_cover_the_items_named_together(
        self, row: Case, reader: Reader
    ) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", NAMED, ids=str)
    def test_a_named_subject_wins(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", COUNTED, ids=str)
    def test_one_of_several_is_named_by_its_order(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", IMAGES, ids=str)
    def test_image_numbers_go_to_the_item_of_the_note_or_the_side(
        self, row: Case, reader: Reader
    ) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", MISSING, ids=str)
    def test_what_is_gone_is_still_described(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)
