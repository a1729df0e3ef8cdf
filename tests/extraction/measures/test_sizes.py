"""Sizes in millimetres, height before width, exactly.

1 inch is exactly 25.4 mm since 1 July 1959 (international agreement, addendum of 22 January 1960
to NBS Circular 572; NIST SP 811 prints the factor in bold, as exact). Computed values are those
of that factor: 8 1/2 in = 215.9 mm, 12 1/4 in = 311.15 mm, 3/8 in = 9.525 mm,
14 15/16 in = 379.4125 mm, 1 ft = 304.8 mm.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.extraction.sayings import bare
from voicelog.extraction.measures.sizes import MM_PER_UNIT, Size, read_size, round_mm
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import tokenize

UNIT_NAMES = {
    "inch": ["inches", "inch", "in", '"', "″"],
    "cm": ["centimetres", "centimeters", "cm", "cms"],
    "mm": ["millimetres", "millimeters", "mm"],
    "foot": ["feet", "ft"],
    "m": ["metres", "meters"],
}


def size(text: str, options: ReadingOptions | None = None) -> Size | None:
    """Return the size that a text is, from its first word to its last."""
    tokens = tokenize(text)
    found = read_size(tokens, 0, options or ReadingOptions())
    return found if found and found.end == len(tokens) else None


def sides(text: str) -> tuple[float, float] | None:
    found = size(text)
    return None if found is None else (found.height_mm, found.width_mm)


class TestUnits:
    """International agreement of 1959; NIST SP 811."""

    @pytest.mark.parametrize(
        ("said", "exact_mm"),
        [
            ("8 1/2", Fraction("215.9")),
            ("12 1/4", Fraction("311.15")),
            ("3/8", Fraction("9.525")),
            ("14 15/16", Fraction("379.4125")),
            ("1", Fraction("25.4")),
        ],
    )
    def test_an_inch_is_25_4_mm_exactly(self, said: str, exact_mm: Fraction) -> None:
        whole = sum(Fraction(part) for part in said.split())
        assert whole * MM_PER_UNIT["inch"] == exact_mm
        assert sides(f"{said} in by {said} in") == (round_mm(exact_mm), round_mm(exact_mm))

    def test_a_foot_is_twelve_inches(self) -> None:
        assert MM_PER_UNIT["foot"] == 12 * MM_PER_UNIT["inch"] == Fraction("304.8")
        assert sides("1 foot by 2 feet") == (304.8, 609.6)

    @pytest.mark.parametrize(
        ("said", "millimetres"),
        [
            ("letter: 8 1/2 by 11", (215.9, 279.4)),
            ("legal: 8 1/2 by 14", (215.9, 355.6)),
            ("number ten envelope: 4 1/8 by 9 1/2", (104.8, 241.3)),
            ("executive: 7 1/4 by 10 1/2", (184.2, 266.7)),
            ("cabinet card mount: 4 1/4 by 6 1/2", (108.0, 165.1)),
            ("four by six print: four by six", (101.6, 152.4)),
        ],
    )
    def test_known_papers_come_out_as_their_makers_say(
        self, said: str, millimetres: tuple[float, float]
    ) -> None:
        # Sizes as ANSI/ASME Y14.1 and Debian's libpaper list them, rounded to 0.1 mm.
        assert sides(said.split(": ")[1]) == millimetres

    @given(
        unit=st.sampled_from(sorted(UNIT_NAMES)),
        height=st.integers(1, 400),
        width=st.integers(1, 400),
        data=st.data(),
    )
    def test_every_name_of_a_unit_means_the_same(
        self, unit: str, height: int, width: int, data: st.DataObject
    ) -> None:
        name = data.draw(st.sampled_from(UNIT_NAMES[unit]))
        expected = (round_mm(height * MM_PER_UNIT[unit]), round_mm(width * MM_PER_UNIT[unit]))
        assert sides(f"{height} {name} by {width} {name}") == expected
        assert sides(f"{height} by {width} {name}") == expected
        assert sides(f"{bare(height)} by {bare(width)} {name}") == expected

    @given(height=st.integers(1, 40), width=st.integers(1, 40), eighths=st.integers(1, 7))
    def test_words_and_figures_give_the_same_size(
        self, height: int, width: int, eighths: int
    ) -> None:
        name = "an eighth" if eighths == 1 else f"{bare(eighths)} eighths"
        in_words = f"{bare(height)} and {name} by {bare(width)} inches"
        in_figures = f"{height} {eighths}/8 x {width} in"
        exact = (height + Fraction(eighths, 8)) * MM_PER_UNIT["inch"]
        assert sides(in_words) == sides(in_figures)
        assert sides(in_words) == (round_mm(exact), round_mm(width * MM_PER_UNIT["inch"]))


class TestOrder:
    """Height first in the row, whatever was said first."""

    @pytest.mark.parametrize(
        "said",
        [
            "six by four",
            "6 x 4",
            "6x4",
            "6 × 4 in",
            "six inches by four inches",
            "six inches, by four inches",
            "six inches high by four inches wide",
            "four inches wide, six inches high",
            "four wide by six high",
            "four wide six high",
            "six tall by four",
            "six tall, four across",
            "six by four wide",
            "width four inches, height six inches",
            "height: 6 in, width: 4 in",
            "height of six, width of four",
            "six inches tall and four inches wide",
            "six by about four inches",
            "half a foot by four inches",
        ],
    )
    def test_six_high_and_four_wide(self, said: str) -> None:
        assert sides(said) == (152.4, 101.6)

    @pytest.mark.parametrize(
        ("said", "thickness"),
        [
            ("twelve by ten by two inches", "two inches"),
            ("12 x 10 x 2 in", "2 in"),
            ("two inches thick, twelve high, ten wide", "two inches thick"),
            ("12 high, 10 wide, 2 deep", "2 deep"),
        ],
    )
    def test_the_third_is_the_thickness(self, said: str, thickness: str) -> None:
        tokens = tokenize(said)
        found = size(said)
        assert found is not None
        assert (found.height_mm, found.width_mm) == (304.8, 254.0)
        assert found.thickness is not None
        first, end = found.thickness
        assert " ".join(token.text for token in tokens[first:end]) == thickness


@pytest.mark.parametrize(
    ("said", "millimetres"),
    [
        ("six inches square", (152.4, 152.4)),
        ("one foot six inches by two feet", (457.2, 609.6)),
        ("1 ft 6 in by 2 ft", (457.2, 609.6)),
        ("5' 2\" by 3' 4\"", (1574.8, 1016.0)),
        ("a foot by an inch", (304.8, 25.4)),
        ("half an inch by three quarters of an inch", (12.7, 19.1)),
        ("a quarter inch by half an inch", (6.4, 12.7)),
        ("10 cm by 150 mm", (100.0, 150.0)),
        ("six point five by four point two five centimetres", (65.0, 42.5)),
        (".5 by 1 inch", (12.7, 25.4)),
        ("one and a half metres by one metre", (1500.0, 1000.0)),
    ],
)
def test_other_ways_to_say_it(said: str, millimetres: tuple[float, float]) -> None:
    assert sides(said) == millimetres


@pytest.mark.parametrize(
    "said",
    [
        "six inches",
        "six",
        "six and four",
        "six, four",
        "page six by the door",
        "by six",
        "six by",
        "a by b",
    ],
)
def test_near_misses_are_no_size(said: str) -> None:
    assert size(said) is None


@pytest.mark.parametrize(
    ("said", "is_doubtful"),
    [
        ("0.2 by 0.2", False),
        ("0.1 by 0.2", True),
        ("78 by 78", False),
        ("79 by 20", True),
        ("79 by 79 inches", False),
        ("1 by 1 mm", False),
    ],
)
def test_without_a_unit_it_is_doubted_outside_5_mm_to_2_m(said: str, *, is_doubtful: bool) -> None:
    found = size(said)
    assert found is not None
    assert bool(found.doubts) is is_doubtful


@pytest.mark.parametrize(("unit", "height_mm"), [("inch", 152.4), ("cm", 60.0), ("mm", 6.0)])
def test_the_default_unit_is_a_setting(unit: str, height_mm: float) -> None:
    options = ReadingOptions(default_unit=unit)  # type: ignore[arg-type]
    found = size("six by six", options)
    assert found is not None
    assert found.height_mm == height_mm


@given(text=st.text(max_size=60))
def test_no_text_is_too_odd(text: str) -> None:
    tokens = tokenize(text)
    for start in range(len(tokens)):
        found = read_size(tokens, start, ReadingOptions())
        assert found is None or start < found.end <= len(tokens)
