"""The reading rule "Opening an item": which words begin a new row."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.extraction.tables import ANYTHING, Case, assert_log, case, item, leaf, read_log, rows_of
from voicelog.extraction.reader import Reader

OPENING = [
    case(
        "What an item brings with it is an item too",
        "leaf 3, a letter and its envelope, both torn",
        item("3 recto 1", "letter", condition=["tear"]),
        item("3 recto 2", "envelope", condition=["tear"]),
    ),
    case("A bare item type opens an item", "leaf 3, postcard", item("3 recto 1", "postcard")),
    case('"a + type" opens an item', "leaf 3 | a postcard", item("3 recto 1", "postcard")),
    case(
        '"another + type" opens an item',
        "leaf 3, a postcard | another postcard",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "postcard"),
    ),
    case(
        '"number + type" opens an item',
        "leaf 3 | two postcards",
        item("3 recto 1", "postcard", quantity=2),
    ),
    case(
        '"the + type" means the latest such item on the side',
        "leaf 3, a postcard and a ticket | the postcard is torn",
        item("3 recto 1", "postcard", condition=["tear"]),
        item("3 recto 2", "ticket"),
    ),
    case(
        '"that + type" means the latest such item on the side',
        "leaf 3, a postcard | a postcard | a ticket | that postcard is torn",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "postcard", condition=["tear"]),
        item("3 recto 3", "ticket"),
    ),
    case(
        '"this + type" means the latest such item on the side',
        "leaf 3, a ticket and a map | this ticket is faded",
        item("3 recto 1", "ticket", condition=["faded"]),
        item("3 recto 2", "map"),
    ),
    case(
        "Adjectives that lead straight into a type open it",
        "leaf 3 | torn yellowed clipping",
        item("3 recto 1", "newspaper clipping", condition=["tear", "yellowed"]),
    ),
    case(
        "An enclosure word with a number is never an item",
        "leaf 3, a postcard, came off | envelope seven",
        item(
            "3 recto 1",
            "postcard",
            adhesion="loose",
            action=ANYTHING,
            enclosure="envelope 7",
        ),
    ),
    case(
        "The longest term wins: photo corners are no photograph",
        "leaf 3, a postcard, photo corners",
        item("3 recto 1", "postcard", attachment=["photo corners"]),
    ),
    case(
        "The longest term wins: report card",
        "leaf 3, a report card",
        item("3 recto 1", "report card"),
    ),
    case(
        "`item` counts entries on the side, not pieces; two postcards are one entry",
        "leaf 3, two postcards and a map",
        item("3 recto 1", "postcard", quantity=2),
        item("3 recto 2", "map"),
    ),
    case(
        "`item` begins at 1 again on the other side",
        "leaf 3, a map | verso, a ticket",
        item("3 recto 1", "map"),
        item("3 verso 1", "ticket"),
    ),
    case(
        '"another one, the same" copies type, attachment, adhesion and condition, nothing else',
        "leaf 3, a postcard in photo corners, secure, yellowed, upper left, dated 1952, "
        "reads at the weir | another one, the same",
        item(
            "3 recto 1",
            "postcard",
            attachment=["photo corners"],
            adhesion="secure",
            condition=["yellowed"],
            position="upper left",
            date="1952",
            caption="at the weir",
        ),
        item(
            "3 recto 2",
            "postcard",
            attachment=["photo corners"],
            adhesion="secure",
            condition=["yellowed"],
        ),
    ),
    case(
        '"the same but ..." may name a number',
        "leaf 3, a clipping, torn | the same but two",
        item("3 recto 1", "newspaper clipping", condition=["tear"]),
        item("3 recto 2", "newspaper clipping", condition=["tear"], quantity=2),
    ),
    case(
        '"the same but ..." copies those and changes what is named',
        "leaf 3, a clipping, clear tape, torn | the same but masking tape",
        item("3 recto 1", "newspaper clipping", attachment=["cellophane tape"], condition=["tear"]),
        item("3 recto 2", "newspaper clipping", attachment=["masking tape"], condition=["tear"]),
    ),
]
OF_ONE_KIND = [
    case(
        "a badge, pin-back, is one badge",
        "leaf 3, a badge, pin-back",
        item("3 recto 1", "badge"),
    ),
    case(
        "in either order",
        "leaf 3, a pin-back badge, torn",
        item("3 recto 1", "badge", condition=["tear"]),
    ),
    case(
        "what is said in between, and after it, is said of the same badge",
        "leaf 3, two badges, loose, pin-back, soiled, and a ticket",
        item("3 recto 1", "badge", quantity=2, adhesion="loose", condition=["soiled"]),
        item("3 recto 2", "ticket"),
    ),
    case(
        "of a badge spoken of again as well",
        "leaf 3, a badge | the badge, pin-back, torn",
        item("3 recto 1", "badge", condition=["tear"]),
    ),
    case(
        "with a determiner it is another one",
        "leaf 3, a badge and a pin-back",
        item("3 recto 1", "badge"),
        item("3 recto 2", "badge"),
    ),
    case(
        "so it is beside something else",
        "leaf 3, a ticket, pin-back",
        item("3 recto 1", "ticket"),
        item("3 recto 2", "badge"),
    ),
    case(
        "and beside its own name",
        "leaf 3, pin-back, pin-back",
        item("3 recto 1", "badge"),
        item("3 recto 2", "badge"),
    ),
]
CONTINUING = [
    case(
        "caption", "caption reads ticket office", item("3 recto 1", "map", caption="ticket office")
    ),
    case("reads", "reads postcard fair", item("3 recto 1", "map", caption="postcard fair")),
    case(
        "inscribed",
        "inscribed letter to Ida",
        item("3 recto 1", "map", caption="letter to Ida"),
    ),
    case(
        "measures",
        "measures six by four inches",
        item("3 recto 1", "map", dimensions=[152.4, 101.6]),
    ),
    case("size", "size six by four", item("3 recto 1", "map", dimensions=[152.4, 101.6])),
    case("it", "it is torn", item("3 recto 1", "map", condition=["tear"])),
    case("back", "back reads ticket", item("3 recto 1", "map", caption="ticket")),
    case("front", "front reads letter", item("3 recto 1", "map", caption="letter")),
    case("dated", "dated June 1952", item("3 recto 1", "map", date="1952-06")),
    case(
        "goes in",
        "goes in envelope seven",
        item("3 recto 1", "map", action=["enclosed"], enclosure="envelope 7"),
    ),
    case(
        "moved to",
        "moved to folder two",
        item("3 recto 1", "map", action=["enclosed"], enclosure="folder 2"),
    ),
    case("came", "came off", item("3 recto 1", "map", adhesion="loose", action=["detached"])),
    case("removed", "removed", item("3 recto 1", "map", adhesion="loose", action=["detached"])),
    case("lifted", "lifted off", item("3 recto 1", "map", adhesion="loose", action=["detached"])),
    case("left", "left in place", item("3 recto 1", "map", action=["left in place"])),
    case("both", "both torn", item("3 recto 1", "map", condition=["tear"])),
    case("also", "also yellowed", item("3 recto 1", "map", condition=["yellowed"])),
    case("with", "with photo corners", item("3 recto 1", "map", attachment=["photo corners"])),
    case("there's some", "there's some foxing", item("3 recto 1", "map", condition=["foxing"])),
]
BEATEN = [
    case(
        "A place beats the list: back cover",
        "leaf 3, a map | back cover, a label",
        item("3 recto 1", "map"),
        item("back cover 1", "label"),
    ),
    case(
        "A place beats the list: both sides blank",
        "leaf 3, a map | next leaf | both sides blank",
        item("3 recto 1", "map"),
        leaf("4", blank=True),
    ),
    case(
        "A determiner + type beats the list",
        "leaf 3, a map | also a ticket",
        item("3 recto 1", "map"),
        item("3 recto 2", "ticket"),
    ),
    case(
        "A number + type beats the list",
        "leaf 3, a map | with two tickets",
        item("3 recto 1", "map"),
        item("3 recto 2", "ticket", quantity=2),
    ),
]


class TestOpeningAnItem:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", OPENING, ids=str)
    def test_a_type_opens_a_row_or_names_one_again(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", OF_ONE_KIND, ids=str)
    def test_a_second_name_may_say_of_what_kind_an_item_is(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", CONTINUING, ids=str)
    def test_a_note_that_begins_as_a_continuation_opens_nothing(
        self, row: Case, reader: Reader
    ) -> None:
        assert_log(row.after("leaf 3, a map"), reader)

    @pytest.mark.parametrize("row", CONTINUING, ids=str)
    def test_fillers_before_a_continuation_change_nothing(self, row: Case, reader: Reader) -> None:
        begins_with_fillers = replace(row, notes=tuple(f"um, okay, {note}" for note in row.notes))
        assert_log(begins_with_fillers.after("leaf 3, a map"), reader)

    @pytest.mark.parametrize("opening", ["its envelope torn", "also ribbon", "with envelope"])
    def test_a_bare_type_after_a_continuation_opens_nothing(
        self, opening: str, reader: Reader
    ) -> None:
        (row,) = rows_of(read_log(["leaf 3, a map", opening], reader).entries())
        assert row["item_type"] == ["map"]
        # What is not opened is not lost either.
        assert (bool(row["remark"]), row["queried"]) == (True, True)

    @pytest.mark.parametrize("row", BEATEN, ids=str)
    def test_a_place_or_a_counted_type_beats_the_list(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)
