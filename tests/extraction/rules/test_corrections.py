"""The reading rule "Corrections": taking back what was said, in the note or after it."""

from __future__ import annotations

import pytest

from tests.extraction.tables import Case, assert_log, case, item, leaf, read_log, volume
from voicelog.extraction.reader import Reader

RESTATED = [
    case(
        '"correction X" restates the field that X names in the latest entry',
        "leaf 3, a postcard, dated 1952 | correction, dated 1953",
        item("3 recto 1", "postcard", date="1953"),
    ),
    case(
        "the field(s): several at once",
        "leaf 3, a postcard, dated 1952, loose | correction, dated 1953, secure",
        item("3 recto 1", "postcard", date="1953", adhesion="secure"),
    ),
    case(
        "an item type included",
        "leaf 3, a postcard, torn | correction, a photograph",
        item("3 recto 1", "photograph", condition=["tear"]),
    ),
    case(
        "list fields are replaced",
        "leaf 3, a postcard, torn, faded | correction, yellowed",
        item("3 recto 1", "postcard", condition=["yellowed"]),
    ),
    case(
        "a volume's field is restated as well",
        "volume one, post binding | correction, spiral binding",
        volume("1", binding="spiral binding"),
    ),
    case(
        "a quantity is restated",
        "leaf 5, two postcards | correction, three",
        item("5 recto 1", "postcard", quantity=3),
    ),
    case(
        "an enclosure is restated, and what was done stays",
        "leaf 5, a map, goes in envelope 7 | correction, envelope 8",
        item("5 recto 1", "map", action=["enclosed"], enclosure="envelope 8"),
    ),
    case(
        "a place is restated",
        "leaf 3, a postcard | correction, verso",
        item("3 verso 1", "postcard"),
    ),
    case(
        "a caption is restated",
        "leaf 3, a postcard, reads at the wier | correction, caption reads at the weir",
        item("3 recto 1", "postcard", caption="at the weir"),
    ),
]
YEAR_KEPT = [
    case(
        "a day without a year keeps the year of the date that it corrects",
        "leaf 3, a postcard, dated June 4th 1952 | correction, dated June fifth",
        item("3 recto 1", "postcard", date="1952-06-05"),
    ),
    case(
        "a month too",
        "leaf 3, a postcard, dated 1952 | correction, dated June",
        item("3 recto 1", "postcard", date="1952-06"),
    ),
    case(
        "an approximate date has a year as well",
        "leaf 3, a postcard, dated about 1952 | correction, dated June fifth",
        item("3 recto 1", "postcard", date="1952-06-05"),
    ),
    case(
        "both ends of a stretch of time",
        "leaf 3, a postcard, dated June 1952 | correction, June fifth to June seventh",
        item("3 recto 1", "postcard", date="1952-06-05/1952-06-07"),
    ),
    case(
        "inside a note too",
        "leaf 3, a postcard, dated June fourth nineteen fifty two, no, June fifth",
        item("3 recto 1", "postcard", date="1952-06-05"),
    ),
    case(
        "a year that is said is the one that counts",
        "leaf 3, a postcard, dated June 4th 1952 | correction, dated June fifth 1953",
        item("3 recto 1", "postcard", date="1953-06-05"),
    ),
    case(
        "of two years none is kept",
        "leaf 3, a postcard, dated 1952 to 1953 | correction, dated June fifth",
        item("3 recto 1", "postcard", date="XXXX-06-05"),
    ),
    case(
        "nor one of a decade",
        "leaf 3, a postcard, the fifties | correction, dated June fifth",
        item("3 recto 1", "postcard", date="XXXX-06-05"),
    ),
    case(
        "nor one that has no such day",
        "leaf 3, a postcard, dated March 1st 1951 | correction, dated February 29th",
        item("3 recto 1", "postcard", date="XXXX-02-29"),
    ),
    case(
        "nor one of another item",
        "leaf 3, a postcard, dated June 4th 1952 | a ticket | correction, dated June fifth",
        item("3 recto 1", "postcard", date="1952-06-04"),
        item("3 recto 2", "ticket", date="XXXX-06-05"),
    ),
]
STRUCK = [
    case(
        '"strike that" undoes the latest note, place and numbering too',
        "leaf 3, a postcard | next leaf, a ticket | strike that | a map",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "map"),
    ),
    case(
        "it undoes a value as well",
        "leaf 3, a postcard | torn | strike that",
        item("3 recto 1", "postcard"),
    ),
    case(
        "what is said in surprise before it is not what it strikes",
        "leaf 3, a postcard | torn | no, strike that | yellowed | oh no, sorry, strike that",
        item("3 recto 1", "postcard"),
    ),
    case(
        "said twice, it goes one further back",
        "leaf 3, a postcard | a ticket | a map | strike that | strike that | a letter",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "letter"),
    ),
    case(
        "the latest note not yet struck",
        "leaf 3, a postcard | a ticket | strike that | a map | strike that | strike that",
    ),
    case(
        "inside a note it strikes the words before it in that note",
        "leaf 3, a postcard | leaf 9, a ticket, torn, strike that, a map",
        item("3 recto 1", "postcard"),
        item("3 recto 2", "map"),
    ),
]
REPLACED = [
    case(
        "no: a leaf number",
        "leaf seven, no, eight, a postcard",
        item("8 recto 1", "postcard"),
    ),
    case(
        "no: a side",
        "leaf seven recto, no, verso, a postcard",
        item("7 verso 1", "postcard"),
    ),
    case(
        "sorry: an item type",
        "leaf 3, a postcard, sorry, a photograph, torn",
        item("3 recto 1", "photograph", condition=["tear"]),
    ),
    case(
        "I mean: a size",
        "leaf 3, a map, six by four, I mean six by five inches",
        item("3 recto 1", "map", dimensions=[152.4, 127.0]),
    ),
    case(
        "make that: a quantity, before its item",
        "leaf 5, two, make that three postcards",
        item("5 recto 1", "postcard", quantity=3),
    ),
    case(
        "make that: a quantity, after its item",
        "leaf 5, two postcards, make that three",
        item("5 recto 1", "postcard", quantity=3),
    ),
    case(
        "sorry: the quantity said again with its item",
        "leaf 5, two tickets, sorry, three tickets, torn",
        item("5 recto 1", "ticket", quantity=3, condition=["tear"]),
    ),
    case(
        "I mean: a page stays a page",
        "page five, I mean six, a map",
        item("3 verso 1", "map"),
    ),
    case(
        "no: an image number",
        "leaf 5, a map, image 7, no, 8",
        item("5 recto 1", "map", images=[8]),
    ),
    case(
        "sorry: a position",
        "leaf 5, a map, top left, sorry, top right",
        item("5 recto 1", "map", position="upper right"),
    ),
    case(
        "no: an adhesion",
        "leaf 5, a map, secure, no, loose",
        item("5 recto 1", "map", adhesion="loose"),
    ),
    case(
        "no: an accession number",
        "accession 2031-007, no, 2031-008 | volume one",
        volume("1", accession="2031-008"),
    ),
    case(
        "sorry: a date",
        "leaf 3, a map, dated 1952, sorry, 1953",
        item("3 recto 1", "map", date="1953"),
    ),
    case(
        "I mean: a condition, the others stay",
        "leaf 3, a map, torn, faded, I mean yellowed",
        item("3 recto 1", "map", condition=["tear", "yellowed"]),
    ),
    case(
        "make that: an enclosure",
        "leaf 3, a map, goes in envelope seven, make that envelope eight",
        item("3 recto 1", "map", action=["enclosed"], enclosure="envelope 8"),
    ),
    case(
        "sorry: a leaf said to be blank",
        "leaf nine, sorry, leaf ten, blank",
        leaf("10", blank=True),
    ),
]


class TestCorrections:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", RESTATED, ids=str)
    def test_a_correction_restates_fields_of_the_latest_entry(
        self, row: Case, reader: Reader
    ) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", YEAR_KEPT, ids=str)
    def test_a_date_is_corrected_without_saying_its_year_again(
        self, row: Case, reader: Reader
    ) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize(
        ("notes", "words"),
        [
            (
                ("leaf 3, a map, dated June 4th 1952", "correction, dated June fifth"),
                ["June 4th 1952", "June fifth"],
            ),
            (
                ("leaf 3, a map, dated June 4th 1952, no, June fifth",),
                ["June 4th 1952, no, June fifth"],
            ),
        ],
    )
    def test_a_date_that_kept_its_year_comes_from_the_words_of_both(
        self, notes: tuple[str, ...], words: list[str], reader: Reader
    ) -> None:
        """The year was said with the one, the day with the other."""
        (entry,) = read_log(notes, reader).entries()
        origin = entry.sources["date"]
        assert isinstance(origin, tuple)
        assert [span.text for span in origin] == words

    @pytest.mark.parametrize("row", STRUCK, ids=str)
    def test_strike_that_undoes_what_was_said_last(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", REPLACED, ids=str)
    def test_a_slip_is_replaced_without_a_doubt(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)
