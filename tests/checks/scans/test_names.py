"""File names stated by example: what the example names is found in other names."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from voicelog.checks.scans.names import parse_example
from voicelog.domain.entry import Side
from voicelog.domain.place import Place
from voicelog.errors import ParseError

RECTO, VERSO = Side.RECTO, Side.VERSO

TOLD = [
    # example | another name | place, image number, volume
    ("014r.jpg is leaf 14 recto", "003v.tif", (Place(leaf="3", side=VERSO), None, None)),
    ("014r.jpg is leaf 14 recto", "007Ar.JPG", (Place(leaf="7A", side=RECTO), None, None)),
    ("014a.jpg is leaf 14 recto", "014b.jpg", (Place(leaf="14", side=VERSO), None, None)),
    ("014a.jpg is leaf 14 recto", "014Ab.jpg", (Place(leaf="14A", side=VERSO), None, None)),
    ("leaf-14-front.png is leaf 14 recto", "leaf-2-back.png",
     (Place(leaf="2", side=VERSO), None, None)),
    ("2031-007_1_014r.tif is volume 1, leaf 14 recto", "2031-007_2_001v.tif",
     (Place(leaf="1", side=VERSO), None, "2")),
    # the number occurs twice: the leaf is the last, the volume the first
    ("1_01_r.jpg is volume 1, leaf 1 recto", "2_13_v.jpg",
     (Place(leaf="13", side=VERSO), None, "2")),
    ("green book 14r.jpg is volume green book, leaf 14 recto", "picnic album 2v.jpg",
     (Place(leaf="2", side=VERSO), None, "picnic album")),
    ("page-027.jpg is page 27", "page-028.jpg", (Place(leaf="14", side=VERSO), None, None)),
    ("p026-*.jpg is page 26", "p030-031.jpg", (Place(leaf="15", side=VERSO), None, None)),
    ("DSC_0312.jpg is image 312", "dsc_0001.png", (None, 1, None)),
    ("cover-front.jpg is front cover", "Cover-Front.tif", (Place(leaf="front cover"), None, None)),
    ("fly_recto.jpg is flyleaf recto", "fly_verso.jpg",
     (Place(leaf="flyleaf", side=VERSO), None, None)),
    ("014.jpg is leaf 14", "015.jpg", (Place(leaf="15"), None, None)),
]  # fmt: skip


@pytest.mark.parametrize(("example", "name", "expected"), TOLD)
def test_a_name_tells_what_its_example_tells(
    example: str, name: str, expected: tuple[Place | None, int | None, str | None]
) -> None:
    """Numbers, sides and volumes change; all else stays."""
    told = parse_example(example).read(name, first_page=1)
    assert told is not None
    assert (told.place, told.number, told.volume) == expected


@pytest.mark.parametrize(
    ("example", "name"),
    [
        ("014r.jpg is leaf 14 recto", "014x.jpg"),
        ("014r.jpg is leaf 14 recto", "014r-again.jpg"),
        ("2031-007_1_014r.tif is leaf 14 recto", "2031-007_2_014r.tif"),
        ("cover-front.jpg is front cover", "cover-back.jpg"),
        ("a.b.014.jpg is leaf 14", "axb.014.jpg"),
    ],
)
def test_a_name_of_another_form_tells_nothing(example: str, name: str) -> None:
    """What the example doesn't name must be the same, and signs are no wildcards."""
    assert parse_example(example).read(name, first_page=1) is None


def test_the_first_page_is_a_setting() -> None:
    """Page 5 is leaf 1 recto where the numbers begin there."""
    told = parse_example("p007.jpg is page 7").read("p006.jpg", first_page=5)
    assert told is not None
    assert told.place == Place(leaf="1", side=VERSO)


@pytest.mark.parametrize(
    ("example", "message"),
    [
        ("014r.jpg", "is no example of a file name; write a file name and what it shows"),
        ("014r.jpg is ", "is no example of a file name"),
        (" is leaf 14", "is no example of a file name"),
        ("015r.jpg is leaf 14 recto", "doesn't hold leaf 14"),
        ("page-27.jpg is page 28", "doesn't hold page 28"),
        ("014.jpg is the attic", "is no place"),
        ("x.jpg is volume 2, front cover", "doesn't hold volume 2"),
    ],
)
def test_an_example_that_says_nothing_is_refused(example: str, message: str) -> None:
    """One sentence: what is wrong, and how an example is written."""
    with pytest.raises(ParseError, match=message):
        parse_example(example)


@given(
    leaf=st.integers(1, 999), other=st.integers(1, 999), side=st.sampled_from(list(Side)),
    prefix=st.sampled_from(["", "tvro_", "2031-007_", "album."]), width=st.integers(1, 4),
)  # fmt: skip
def test_every_leaf_is_read_back_from_the_name_it_was_given(
    leaf: int, other: int, side: Side, prefix: str, width: int
) -> None:
    """Whatever stands before the number, and however wide it is written."""
    pattern = parse_example(f"{prefix}{leaf:0{width}d}r.tif is leaf {leaf} recto")
    told = pattern.read(f"{prefix}{other:0{width}d}{side[0]}.tif", first_page=1)
    assert told is not None
    assert told.place == Place(leaf=str(other), side=side)


@example(text="", name="²")
@given(text=st.text(max_size=60), name=st.text(max_size=20))
def test_any_text_is_an_example_or_is_refused(text: str, name: str) -> None:
    """Never anything else; and what it tells of any name is a place or nothing."""
    for told in (text, f"{text} is leaf 3", f"3{text} is volume {name}, leaf 3 recto"):
        try:
            pattern = parse_example(told)
        except ParseError:
            continue
        pattern.read(name, first_page=1)
