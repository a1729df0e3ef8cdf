"""The reading rule "Values": sizes, dates, positions and numbers as rows write them."""

from __future__ import annotations

import pytest

from tests.extraction.tables import (
    ANYTHING,
    Case,
    Words,
    assert_log,
    case,
    item,
    read_log,
    rows_of,
    volume,
)
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

SIZES = [
    case(
        "no unit said: the log's default unit, inch, without a doubt",
        "leaf 3, a map, six by four",
        item("3 recto 1", "map", dimensions=[152.4, 101.6]),
    ),
    case(
        "with a doubt above 2 m",
        "leaf 3, a map, measures ninety by sixty",
        item("3 recto 1", "map", dimensions=[2286.0, 1524.0], queried=True),
    ),
    case(
        "with a doubt below 5 mm",
        "leaf 3, a postage stamp, measures 1/8 by 1/8",
        item("3 recto 1", "postage stamp", dimensions=[3.2, 3.2], queried=True),
    ),
    case(
        '"wide" and "high" fix the order, height first in the row',
        "leaf 3, a map, four inches wide, six inches high",
        item("3 recto 1", "map", dimensions=[152.4, 101.6]),
    ),
    case(
        '"tall" fixes the order',
        "leaf 3, a map, 10 cm wide by 15 cm tall",
        item("3 recto 1", "map", dimensions=[150.0, 100.0]),
    ),
    case(
        "three numbers are height, width, thickness; of items it stays in the remark",
        "leaf 3, a booklet, 15 by 10 by 2 cm",
        item("3 recto 1", "booklet", dimensions=[150.0, 100.0], remark=Words("2")),
    ),
    case(
        "three numbers of a volume are height, width, thickness",
        "volume one, measures twelve by ten by two inches",
        volume("1", dimensions=[304.8, 254.0], remark=ANYTHING),
    ),
]
DATES = [
    case(
        "dates are EDTF",
        f"leaf 3, a map, {said}",
        item("3 recto 1", "map", date=edtf, queried=is_doubtful),
    )
    for said, edtf, is_doubtful in [
        ("circa 1960", "1960~", False),
        ("about 1960", "1960~", False),
        ("around nineteen sixty", "1960~", False),
        ("possibly 1960", "1960?", False),
        ("maybe nineteen sixty", "1960?", False),
        ("from 1948 to 1961", "1948/1961", False),
        ("1948 through 1961", "1948/1961", False),
        ("between 1948 and 1961", "[1948..1961]", False),
        ("before 1961", "[..1961]", False),
        ("after 1948", "[1948..]", False),
        ("the fifties", "195X", False),
        ("spring 1952", "1952-21", False),
        ("summer 1952", "1952-22", False),
        ("autumn 1952", "1952-23", False),
        ("winter 1952", "1952-24", False),
        ("about the fifties", "195X", False),
        ("June fourth", "XXXX-06-04", False),
        ("June fourth fifty two", "1952-06-04", True),
        ("undated", None, False),
    ]
]
PARTS = [
    case(
        f"{remark}, without a doubt",
        f"leaf 3, a map, {said}",
        item("3 recto 1", "map", date=edtf, remark=remark),
    )
    for said, edtf, remark in [
        ("late fifties", "195X", "late"),
        ("early 1952", "1952", "early"),
        ("the early fifties", "195X", "early"),
    ]
]
OTHERS = [
    *(
        case(
            "a position is one of nine",
            f"leaf 3, a map, {position}",
            item("3 recto 1", "map", position=position),
        )
        for position in (
            "upper left",
            "upper centre",
            "upper right",
            "centre left",
            "centre",
            "centre right",
            "lower left",
            "lower centre",
            "lower right",
        )
    ),
    case(
        '"top" is a variant',
        "leaf 3, a map, top left",
        item("3 recto 1", "map", position="upper left"),
    ),
    case(
        '"bottom" is a variant',
        "leaf 3, a map, bottom right",
        item("3 recto 1", "map", position="lower right"),
    ),
    case(
        '"middle" is a variant',
        "leaf 3, a map, in the middle",
        item("3 recto 1", "map", position="centre"),
    ),
    case(
        '"overlapping" ties two items',
        "leaf 3, a map, a ticket overlapping the map",
        item("3 recto 1", "map"),
        item("3 recto 2", "ticket", relations=[("overlapping", "map")]),
    ),
    case(
        "a place of damage is not the item's position",
        "leaf 3, a map, tear at lower left",
        item("3 recto 1", "map", condition=["tear"], remark=ANYTHING),
    ),
    case(
        "a volume without a number takes the donor's name, without the",
        "volume called the green book",
        volume("green book", volume_name="the green book"),
    ),
    case(
        "letters before a number in an accession are kept as spoken, no space",
        "accession MS forty five | volume one",
        volume("1", accession="MS45"),
    ),
]


class TestValues:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", SIZES, ids=str)
    def test_sizes_are_millimetres_height_first(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", DATES, ids=str)
    def test_dates_are_edtf(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", OTHERS, ids=str)
    def test_positions_names_and_accessions(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", PARTS, ids=str)
    def test_early_and_late_only_in_the_remark(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    def test_the_default_unit_is_a_setting(self) -> None:
        metric = Reader(load_vocabulary(), ReadingOptions(default_unit="cm"))
        (row,) = rows_of(read_log(["leaf 3, a map, fifteen by ten"], metric).entries())
        assert row["dimensions"] == [150.0, 100.0]

    def test_a_two_digit_year_is_read_in_the_default_century_with_a_doubt(self) -> None:
        older = Reader(load_vocabulary(), ReadingOptions(default_century=1800))
        (row,) = rows_of(read_log(["leaf 3, a map, June fourth fifty two"], older).entries())
        assert (row["date"], row["queried"]) == ("1852-06-04", True)
