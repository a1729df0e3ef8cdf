"""The grammar of sizes: "four and a quarter by six inches", "15 cm wide, 10 high".

Grammar::

    size      := dimension (("by" | "x" | "times" | ",") ["about"] dimension){1,2}
               | amount unit "square"
    dimension := [direction] counted [direction]
    counted   := amount [unit [amount unit]] | amount "of" article unit | article unit
    direction := "high" | "tall" | "wide" | "across" | "thick" | "deep" ...

Without a direction the first is the height. The last unit said holds for those before it.
1 inch is exactly 25.4 mm (international agreement of 1959; NIST SP 811).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from voicelog.extraction.numbers.fractions import read_amount
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import Token, tokenize

MM_PER_UNIT: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "inch": Fraction(254, 10),
    "foot": Fraction(3048, 10),
    "m": Fraction(1000),
}
_UNIT_WORDS = {
    "inch": "inch", "inches": "inch", "in": "inch", '"': "inch", "”": "inch", "″": "inch",
    "cm": "cm", "cms": "cm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm",
    "centimeters": "cm", "mm": "mm", "mms": "mm", "millimetre": "mm", "millimetres": "mm",
    "millimeter": "mm", "millimeters": "mm", "foot": "foot", "feet": "foot", "ft": "foot",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "m": "m", "'": "foot", "′": "foot",
}  # fmt: skip
_DIRECTIONS = {
    "high": "height", "tall": "height", "height": "height", "wide": "width", "across": "width",
    "width": "width", "thick": "thickness", "deep": "thickness", "thickness": "thickness",
    "depth": "thickness",
}  # fmt: skip
_ARTICLES = frozenset({"a", "an"})
_ABOUT = frozenset({"about", "around", "approximately", "roughly", "circa"})
_JOINS = frozenset({"by", "x", "times", ",", "and"})
SMALLEST_MM = Fraction(5)
LARGEST_MM = Fraction(2000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A size in millimetres, and where its words end.

    Attributes:
        height_mm: height, rounded to 0.1.
        width_mm: width, rounded to 0.1.
        thickness: (first, end) of the words that gave a thickness, or None.
        end: index after the last token.
        doubts: reasons in plain words.
    """

    height_mm: float
    width_mm: float
    thickness: tuple[int, int] | None
    end: int
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Dimension:
    amount: Fraction
    unit: str | None
    direction: str | None
    start: int
    end: int


def round_mm(value: Fraction) -> float:
    """Return millimetres rounded to 0.1, halves up.

    >>> round_mm(Fraction(17, 4) * Fraction(254, 10))
    108.0
    """
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    return float(exact.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP))


def read_size(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Size | None:
    """Return the size (two or three dimensions) that begins at ``start``, or None."""
    first = _read_dimension(tokens, start)
    if first is None:
        return None
    if first.end < len(tokens) and tokens[first.end].norm == "square" and first.unit:
        square = replace(first, end=first.end + 1)
        return _make_size([square, square], options)
    dimensions = [first]
    while len(dimensions) < 3 and (following := _read_next(tokens, dimensions[-1])):
        dimensions.append(following)
    return _make_size(dimensions, options) if len(dimensions) > 1 else None


def read_single_dimension(tokens: Sequence[Token], start: int) -> int | None:
    """Return where a lone dimension such as "six inches wide" ends, or None."""
    dimension = _read_dimension(tokens, start)
    return dimension.end if dimension and dimension.unit else None


def find_thickness_mm(text: str) -> float | None:
    """Return a thickness that a remark holds, in millimetres, or None.

    It is the one that says so ("two inches thick"), else a remark or part of it that is
    nothing but a dimension: what is left of "11 by 14 by 2 inches" when height and width
    have gone to their own field.

    >>> find_thickness_mm("two inches"), find_thickness_mm("worn; 5 cm thick")
    (50.8, 50.0)
    >>> find_thickness_mm("a tear of two inches") is None
    True
    """
    for part in text.split(";"):
        tokens = tokenize(part)
        for start in range(len(tokens)):
            dimension = _read_dimension(tokens, start)
            if dimension is None or dimension.unit is None:
                continue
            is_whole = start == 0 and dimension.end == len(tokens)
            if dimension.direction == "thickness" or (is_whole and dimension.direction is None):
                return round_mm(dimension.amount * MM_PER_UNIT[dimension.unit])
    return None


def _read_next(tokens: Sequence[Token], before: _Dimension) -> _Dimension | None:
    index = before.end
    if index >= len(tokens):
        return None
    join = ""
    if tokens[index].norm in _JOINS:
        join, index = tokens[index].norm, index + 1
        if join == "," and index < len(tokens) and tokens[index].norm in {"by", "and"}:
            join, index = tokens[index].norm, index + 1
        while index < len(tokens) and tokens[index].norm in _ABOUT:
            index += 1
    following = _read_dimension(tokens, index)
    if following is None:
        return None
    # Without "by", only directions tell that two amounts are one size.
    if join in {",", "and", ""} and not (before.direction and following.direction):
        return None
    return following


def _read_dimension(tokens: Sequence[Token], start: int) -> _Dimension | None:
    if start >= len(tokens):
        return None
    direction = None
    index = start
    if tokens[index].norm in {"height", "width", "thickness", "depth"}:
        direction = _DIRECTIONS[tokens[index].norm]
        index += 1
        while index < len(tokens) and tokens[index].norm in {"is", "of", ",", ":"}:
            index += 1
    counted = _read_counted(tokens, index)
    if counted is None:
        return None
    value, unit, end = counted
    if unit == "foot" and (inches := read_amount(tokens, end)):
        inch_unit, inch_end = _read_unit(tokens, inches.end)
        if inch_unit == "inch":
            value, unit, end = value * 12 + inches.value, "inch", inch_end
    if direction is None and end < len(tokens) and tokens[end].norm in _DIRECTIONS:
        direction = _DIRECTIONS[tokens[end].norm]
        end += 1
    return _Dimension(amount=value, unit=unit, direction=direction, start=start, end=end)


def _read_counted(tokens: Sequence[Token], index: int) -> tuple[Fraction, str | None, int] | None:
    """Read "four inches", "four", "a foot", "three quarters of an inch"."""
    amount = read_amount(tokens, index)
    if amount is None:
        is_article = index < len(tokens) and tokens[index].norm in _ARTICLES
        unit, end = _read_unit(tokens, index + 1) if is_article else (None, index)
        return None if unit is None else (Fraction(1), unit, end)
    end = amount.end
    if end + 2 < len(tokens) and tokens[end].norm == "of" and tokens[end + 1].norm in _ARTICLES:
        unit, after = _read_unit(tokens, end + 2)
        if unit is not None:
            return amount.value, unit, after
    unit, end = _read_unit(tokens, end)
    return amount.value, unit, end


def _read_unit(tokens: Sequence[Token], index: int) -> tuple[str | None, int]:
    if index >= len(tokens):
        return None, index
    unit = _UNIT_WORDS.get(tokens[index].norm)
    if unit is None:
        return None, index
    # "5' 2" is a foot mark; " '52" begins a year.
    if unit == "foot" and not tokens[index].is_word and not tokens[index].glued:
        return None, index
    if tokens[index].norm == "in" and not tokens[index].glued:
        follows = tokens[index + 1].norm if index + 1 < len(tokens) else ""
        if follows and follows not in _JOINS | _DIRECTIONS.keys() | {"."}:
            return None, index
    return unit, index + 1


def _make_size(dimensions: list[_Dimension], options: ReadingOptions) -> Size | None:
    unit = options.default_unit
    millimetres: list[Fraction] = []
    known = [dimension.unit for dimension in dimensions]
    for position, dimension in enumerate(dimensions):
        later = next((one for one in known[position:] if one), None)
        earlier = next((one for one in reversed(known[:position]) if one), None)
        millimetres.append(dimension.amount * MM_PER_UNIT[later or earlier or unit])
    slots: dict[str, int] = {}
    for position, dimension in enumerate(dimensions):
        if dimension.direction and dimension.direction not in slots:
            slots[dimension.direction] = position
    for position in range(len(dimensions)):
        if position not in slots.values():
            free = next((s for s in ("height", "width", "thickness") if s not in slots), None)
            if free is None:
                return None
            slots[free] = position
    if "height" not in slots or "width" not in slots:
        return None
    height, width = millimetres[slots["height"]], millimetres[slots["width"]]
    thickness = slots.get("thickness")
    doubts: tuple[str, ...] = ()
    if not any(known) and not all(SMALLEST_MM <= mm <= LARGEST_MM for mm in (height, width)):
        measured = f"the size came out as {round_mm(height)} x {round_mm(width)} mm"
        doubts = (f"{measured}; no unit was said, so it was taken as {unit}",)
    return Size(
        height_mm=round_mm(height),
        width_mm=round_mm(width),
        thickness=None
        if thickness is None
        else (dimensions[thickness].start, dimensions[thickness].end),
        end=max(dimension.end for dimension in dimensions),
        doubts=doubts,
    )
