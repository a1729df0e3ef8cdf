"""Notes about the whole volume: the closing count, and how it was imaged."""

from __future__ import annotations

import pytest

from tests.extraction.tables import Case, assert_log, case, item, leaf, volume
from voicelog.errors import ParseError
from voicelog.extraction.closing_count import parse_closing_count
from voicelog.extraction.reader import Reader

COUNT = "box one holds the volume, two folders and nine envelopes"
MAP = item("3 recto 1", "map")

WHOLE_NOTES = [
    case(
        "the count goes to the volume, word for word, wherever one is",
        f"volume 1 | leaf 3, a map | {COUNT}",
        volume("1", remark=COUNT),
        MAP,
    ),
    case(
        "two counts are two remarks",
        "volume 1 | box 1 holds the volume | box 1 holds the volume and an envelope",
        volume("1", remark="box 1 holds the volume; box 1 holds the volume and an envelope"),
    ),
    case(
        "imaged by openings",
        "volume 1 | leaf 3, a map | imaged by openings",
        volume("1", action=["imaged"], remark="imaged by openings"),
        MAP,
    ),
    case(
        "imaged page by page",
        "volume 1 | leaf 3, a map | the volume was imaged page by page",
        volume("1", action=["imaged"], remark="the volume was imaged page by page"),
        MAP,
    ),
    case(
        "near miss: where the volume goes is no count",
        "volume 1 | leaf 3, a map | the volume goes in box one",
        volume("1", action=["boxed"], enclosure="box 1"),
        MAP,
    ),
    case(
        "near miss: an item goes into a box",
        "volume 1 | leaf 3, a map | goes in box one",
        volume("1"),
        item("3 recto 1", "map", action=["enclosed"], enclosure="box 1"),
    ),
    case(
        "near miss: an envelope on the page",
        "volume 1 | leaf 3, two envelopes",
        volume("1"),
        item("3 recto 1", "envelope", quantity=2),
    ),
    case(
        "in a caption it is words",
        f"volume 1 | leaf 3 | caption reads {COUNT}",
        volume("1"),
        leaf("3 recto", caption=COUNT),
    ),
]


@pytest.mark.parametrize("case", WHOLE_NOTES, ids=str)
def test_what_is_said_of_the_whole_volume(case: Case, reader: Reader) -> None:
    """It stands in the volume's remark, without a doubt."""
    assert_log(case, reader)


COUNTS = [
    # words | box, volumes, volumes named, counted, enclosures named
    (COUNT, ("box 1", 1, (), {"folder": 2, "envelope": 9}, ())),
    ("box two, the volume and one envelope", ("box 2", 1, (), {"envelope": 1}, ())),
    ("in box two: the album and no folders", ("box 2", 1, (), {"folder": 0}, ())),
    ("box 3 contains both volumes", ("box 3", 2, (), {}, ())),
    ("box 3 holds volumes one and two, and a folder",
     ("box 3", None, ("1", "2"), {"folder": 1}, ())),
    ("closing count, box one has the volume and envelopes one to three and five",
     ("box 1", 1, (), {}, ("envelope 1", "envelope 2", "envelope 3", "envelope 5"))),
    ("box one holds the volume, envelope seven and two folders.",
     ("box 1", 1, (), {"folder": 2}, ("envelope 7",))),
    ("box one holds the volume, envelopes one and two and two folders",
     ("box 1", 1, (), {"folder": 2}, ("envelope 1", "envelope 2"))),
    ("box 4 holds the volume, twenty one envelopes and a four-flap wrapper",
     ("box 4", 1, (), {"envelope": 21, "four-flap wrapper": 1}, ())),
    ("box four holds the volume and four four flap wrappers",
     ("box 4", 1, (), {"four-flap wrapper": 4}, ())),
]  # fmt: skip


@pytest.mark.parametrize(("words", "expected"), COUNTS)
def test_a_count_is_read(
    words: str,
    expected: tuple[str, int | None, tuple[str, ...], dict[str, int], tuple[str, ...]],
) -> None:
    """Numbers as words or digits; things counted, or named by their numbers."""
    count = parse_closing_count(words)
    assert (count.box, count.volumes, count.named_volumes, count.counted, count.named) == expected
    assert count.words == words


@pytest.mark.parametrize(
    "words",
    [
        "",
        "box",
        "box one",
        "box one holds",
        "box one holds a postcard",
        "box one holds the volume and some dust",
        "the box holds the volume",
        "box one, envelope seven",
    ],
)
def test_what_is_no_count_is_refused(words: str) -> None:
    """With a sentence that shows how to say it."""
    with pytest.raises(ParseError, match="is no closing count; say it like 'box one holds"):
        parse_closing_count(words)
