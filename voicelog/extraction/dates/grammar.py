"""The grammar of dates as people say and write them.

Grammar::

    date      := "between" point "and" point            [A..B]
               | ["from"] point ("to"|"through"|"-") point     A/B
               | ("before"|"prior to"|"by") point       [..A]
               | ("after"|"since") point                [A..]
               | point "or" point                       [A,B]
               | point
    point     := (approximate | uncertain)* plain ["?"]
    plain     := iso | numeric | month_date | season | decade | century | year

A season is a month 21..24; "the fifties" is 195X; a day without a year is XXXX-MM-DD.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voicelog.extraction.dates.calendar_words import (
    APPROXIMATE,
    DECADES,
    MONTHS,
    PARTS_OF_PERIOD,
    SEASONS,
    UNCERTAIN,
)
from voicelog.extraction.dates.edtf import PlainDate, format_qualifier
from voicelog.extraction.numbers.cardinals import read_atoms, read_year
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import Token

_THROUGH = frozenset({"to", "through", "thru", "till", "until", "-", "/"})
_SKIPPABLE = frozenset({"the", "in", "of", "a", "year", "on", "sometime", "some", "time"})


@dataclass(frozen=True, slots=True, kw_only=True)
class DateReading:
    """A date as EDTF, where its words end, and what is doubtful about it.

    Attributes:
        edtf: the date, or None where the words name an impossible one.
        end: index after the last token.
        doubts: reasons in plain words.
        aside: spans (first, end) of words that qualify without changing the value
            ("early"); they belong in the remark.
        bare_year: whether nothing but a year was said, which may be some other number.
    """

    edtf: str | None
    end: int
    doubts: tuple[str, ...] = ()
    aside: tuple[tuple[int, int], ...] = ()
    bare_year: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Point:
    date: PlainDate
    end: int
    qualifier: str = ""
    doubts: tuple[str, ...] = ()
    aside: tuple[tuple[int, int], ...] = ()
    bare_year: bool = False

    def format(self) -> str:
        return self.date.format() + self.qualifier


def read_date(tokens: Sequence[Token], start: int, options: ReadingOptions) -> DateReading | None:
    """Return the date that begins at ``start``, or None."""
    word = tokens[start].norm
    if word in {"between", "from"}:
        return _read_pair(tokens, start, options)
    if word in {"before", "after", "since"}:
        return _read_open(tokens, start, options, is_before=word == "before")
    if word == "prior" and _word(tokens, start + 1) == "to":
        return _read_open(tokens, start + 1, options, is_before=True)
    first = _read_point(tokens, start, options)
    if first is None:
        return None
    return _read_continuation(tokens, first, options) or _reading(first, first.format())


def _reading(point: _Point, edtf: str, *others: _Point) -> DateReading:
    points = (point, *others)
    doubts = tuple(doubt for one in points for doubt in one.doubts)
    return DateReading(
        edtf=edtf if all(one.date.is_possible() for one in points) else None,
        end=points[-1].end,
        doubts=doubts,
        aside=tuple(aside for one in points for aside in one.aside),
        bare_year=point.bare_year and not others,
    )


def _read_pair(tokens: Sequence[Token], start: int, options: ReadingOptions) -> DateReading | None:
    first = _read_point(tokens, start + 1, options)
    if first is None or first.end >= len(tokens):
        return None
    is_between = tokens[start].norm == "between"
    link = tokens[first.end].norm
    if link not in ({"and"} if is_between else _THROUGH):
        return None if is_between else replace(_reading(first, first.format()), bare_year=False)
    second = _read_point(tokens, first.end + 1, options)
    if second is None:
        return None
    first, second = _share_year(first, second)
    edtf = (
        f"[{first.format()}..{second.format()}]"
        if is_between
        else f"{first.format()}/{second.format()}"
    )
    return _check_order(_reading(first, edtf, second), first, second)


def _read_open(
    tokens: Sequence[Token], start: int, options: ReadingOptions, *, is_before: bool
) -> DateReading | None:
    point = _read_point(tokens, start + 1, options)
    if point is None:
        return None
    edtf = f"[..{point.format()}]" if is_before else f"[{point.format()}..]"
    return replace(_reading(point, edtf), bare_year=False)


def _read_continuation(
    tokens: Sequence[Token], first: _Point, options: ReadingOptions
) -> DateReading | None:
    if first.end + 1 >= len(tokens):
        return None
    link = tokens[first.end].norm
    if link not in _THROUGH and link != "or":
        return None
    second = _read_point(tokens, first.end + 1, options)
    if second is None and link == "-" and first.bare_year:
        second = _read_short_year(tokens, first)
    if second is None:
        return None
    first, second = _share_year(first, second)
    if link == "or":
        return _reading(first, f"[{first.format()},{second.format()}]", second)
    edtf = f"{first.format()}/{second.format()}"
    return _check_order(_reading(first, edtf, second), first, second)


def _read_short_year(tokens: Sequence[Token], first: _Point) -> _Point | None:
    """Read the 52 of "1951-52"."""
    token = tokens[first.end + 1]
    if not (token.norm.isascii() and token.norm.isdigit() and len(token.norm) == 2):
        return None
    year = first.date.year[:2] + token.norm
    return _Point(date=PlainDate(year=year), end=first.end + 2) if year > first.date.year else None


def _share_year(first: _Point, second: _Point) -> tuple[_Point, _Point]:
    """Give "June to August 1955" its year on both sides."""
    if first.date.year == "XXXX" and second.date.year != "XXXX":
        return replace(first, date=replace(first.date, year=second.date.year)), second
    return first, second


def _check_order(reading: DateReading, first: _Point, second: _Point) -> DateReading:
    if reading.edtf and first.date.format() > second.date.format():
        doubt = f"the date ends before it begins: {reading.edtf}"
        return replace(reading, doubts=(*reading.doubts, doubt))
    return reading


def _read_point(tokens: Sequence[Token], start: int, options: ReadingOptions) -> _Point | None:
    approximate = uncertain = False
    aside: list[tuple[int, int]] = []
    index = start
    while index < len(tokens):
        word = tokens[index].norm
        if word in APPROXIMATE or (word in {"c", "ca"} and _precedes_year(tokens, index)):
            approximate = True
            if _word(tokens, index + 1) == ".":
                index += 1
        elif word in UNCERTAIN:
            uncertain = True
        elif word in PARTS_OF_PERIOD:
            aside.append((index, index + 1))
            if _word(tokens, index + 1) == "-":
                index += 1
        elif word not in _SKIPPABLE and not (word == "," and (approximate or uncertain)):
            break
        index += 1
    plain = _read_plain(tokens, index, options) if index < len(tokens) else None
    if plain is None:
        return None
    end = plain.end
    if _word(tokens, end) == "?":
        uncertain, end = True, end + 1
    if not plain.date.is_possible():
        said = " ".join(token.text for token in tokens[index : plain.end])
        plain = replace(plain, doubts=(*plain.doubts, f"there is no such date as {said!r}"))
    return replace(
        plain,
        end=end,
        # A decade is approximate by itself: "about the fifties" is 195X.
        qualifier=format_qualifier(
            approximate=approximate and "X" not in plain.date.year[:4].replace("XXXX", ""),
            uncertain=uncertain,
        ),
        aside=tuple(aside),
        bare_year=plain.bare_year and not (approximate or uncertain or aside),
    )


def _precedes_year(tokens: Sequence[Token], index: int) -> bool:
    after = index + 2 if _word(tokens, index + 1) == "." else index + 1
    return after < len(tokens) and read_year(tokens, after) is not None


def _read_plain(tokens: Sequence[Token], start: int, options: ReadingOptions) -> _Point | None:
    for grammar in (_read_numeric, _read_month_first, _read_day_first, _read_season):
        point = grammar(tokens, start, options)
        if point is not None:
            return point
    return (
        _read_century(tokens, start)
        or _read_decade(tokens, start, options)
        or _read_year_only(tokens, start)
    )


def _read_numeric(tokens: Sequence[Token], start: int, options: ReadingOptions) -> _Point | None:
    """Read 1952-06-04, 6/4/1952 and 4.6.1952."""
    if start + 2 >= len(tokens):
        return None
    parts = [tokens[start]]
    index = start + 1
    sign = tokens[index].norm
    if sign not in {"-", "/", "."}:
        return None
    while index + 1 < len(tokens) and tokens[index].norm == sign and len(parts) < 3:
        if not (tokens[index].glued and tokens[index + 1].glued):
            break
        parts.append(tokens[index + 1])
        index += 2
    if not all(part.norm.isascii() and part.norm.isdigit() for part in parts):
        return None
    lengths = [len(part.norm) for part in parts]
    numbers = [int(part.norm) for part in parts]
    end = start + 2 * len(parts) - 1
    if len(parts) == 3 and lengths[0] == 4 and max(lengths[1:]) <= 2:
        date = PlainDate(year=parts[0].norm, month=numbers[1], day=numbers[2])
        return _Point(date=date, end=end)
    if len(parts) == 3 and max(lengths[:2]) <= 2 and lengths[2] in {2, 4}:
        month, day = numbers[:2] if not options.day_first else (numbers[1], numbers[0])
        if month > 12 >= day:
            month, day = day, month
        year, doubts = _full_year(parts[2].norm, options)
        return _Point(date=PlainDate(year=year, month=month, day=day), end=end, doubts=doubts)
    if len(parts) == 2 and lengths == [4, 2] and sign == "-" and 1 <= numbers[1] <= 12:
        return _Point(date=PlainDate(year=parts[0].norm, month=numbers[1]), end=end)
    return None


def _read_month_first(
    tokens: Sequence[Token], start: int, options: ReadingOptions
) -> _Point | None:
    """Read "June [the] fourth [,] [nineteen] fifty two", "June 1952", "June"."""
    month, index = _read_month(tokens, start)
    if month is None:
        return None
    is_may = tokens[start].norm in {"may", "march", "mar", "dec", "sep", "jan", "jun"}
    year = _read_year_after(tokens, index, options)
    if year is not None and len(year[0]) == 4 and not year[2]:
        return _Point(date=PlainDate(year=year[0], month=month), end=year[1])
    day_at = index + 1 if _word(tokens, index) == "the" else index
    day = _read_day(tokens, day_at)
    if day is None:
        if year is not None:
            return _Point(date=PlainDate(year=year[0], month=month), end=year[1], doubts=year[2])
        if is_may:
            return None
        return _Point(date=PlainDate(year="XXXX", month=month), end=index)
    return _with_year(tokens, month, day, options)


def _read_day_first(tokens: Sequence[Token], start: int, options: ReadingOptions) -> _Point | None:
    """Read "the fourth of June [,] nineteen fifty two", "4 June 1952"."""
    day = _read_day(tokens, start)
    if day is None or day[1] >= len(tokens):
        return None
    index = day[1] + 1 if _word(tokens, day[1]) == "of" else day[1]
    if index >= len(tokens):
        return None
    month, after = _read_month(tokens, index)
    if month is None:
        return None
    return _with_year(tokens, month, (day[0], after), options)


def _with_year(
    tokens: Sequence[Token], month: int, day: tuple[int, int], options: ReadingOptions
) -> _Point:
    number, end = day
    year = _read_year_after(tokens, end, options)
    if year is None:
        return _Point(date=PlainDate(year="XXXX", month=month, day=number), end=end)
    return _Point(
        date=PlainDate(year=year[0], month=month, day=number), end=year[1], doubts=year[2]
    )


def _read_season(tokens: Sequence[Token], start: int, options: ReadingOptions) -> _Point | None:
    season = SEASONS.get(tokens[start].norm)
    if season is None:
        return None
    year = _read_year_after(tokens, start + 1, options)
    if year is None or year[2]:
        return None
    return _Point(date=PlainDate(year=year[0], month=season), end=year[1])


def _read_century(tokens: Sequence[Token], start: int) -> _Point | None:
    ordinal = read_ordinal(tokens, start)
    if ordinal and _word(tokens, ordinal.end) == "century" and 1 < ordinal.value <= 21:
        return _Point(date=PlainDate(year=f"{ordinal.value - 1:02d}XX"), end=ordinal.end + 1)
    return None


def _read_decade(tokens: Sequence[Token], start: int, options: ReadingOptions) -> _Point | None:
    """Read "nineteen fifties", "the fifties", "1950s", "'50s"."""
    word = tokens[start].norm
    if word in DECADES and word != "tens":
        return _Point(
            date=PlainDate(year=f"{options.default_century // 100}{DECADES[word]}X"),
            end=start + 1,
        )
    index = start + 1 if word == "'" else start
    if index >= len(tokens):
        return None
    digits = tokens[index].norm
    if digits.isascii() and digits.isdigit():
        ending = tokens[index + 1] if index + 1 < len(tokens) else None
        if ending is None or not ending.glued or ending.norm not in {"s", "'s"}:
            return None
        if len(digits) == 4:
            year = f"{digits[:2]}XX" if digits.endswith("00") else f"{digits[:3]}X"
            return _Point(date=PlainDate(year=year), end=index + 2)
        if len(digits) == 2 and digits[1] == "0":
            century = options.default_century // 100
            return _Point(date=PlainDate(year=f"{century}{digits[0]}X"), end=index + 2)
        return None
    atoms = read_atoms(tokens, index, limit=1)
    if atoms and len(atoms[0].digits) == 2 and 14 <= atoms[0].value <= 20:
        hundreds = atoms[0]
        following = _word(tokens, hundreds.end)
        if following in DECADES:
            year = f"{hundreds.digits}{DECADES[following]}X"
            return _Point(date=PlainDate(year=year), end=hundreds.end + 1)
        if following == "hundreds":
            return _Point(date=PlainDate(year=f"{hundreds.digits}XX"), end=hundreds.end + 1)
    return None


def _read_year_only(tokens: Sequence[Token], start: int) -> _Point | None:
    year = read_year(tokens, start)
    if year is None or not 1400 <= year.value <= 2099:
        return None
    return _Point(date=PlainDate(year=year.digits), end=year.end, bare_year=True)


def _read_month(tokens: Sequence[Token], index: int) -> tuple[int | None, int]:
    month = MONTHS.get(_word(tokens, index))
    if month is None:
        return None, index
    has_stop = _word(tokens, index + 1) == "." and len(tokens[index].norm) <= 4
    return month, index + 1 + has_stop


def _read_day(tokens: Sequence[Token], index: int) -> tuple[int, int] | None:
    if index >= len(tokens):
        return None
    ordinal = read_ordinal(tokens, index)
    if ordinal is not None:
        return (ordinal.value, ordinal.end) if ordinal.value <= 99 else None
    atoms = read_atoms(tokens, index, limit=1)
    if atoms and not atoms[0].scaled and len(atoms[0].digits) <= 2 and atoms[0].value:
        return atoms[0].value, atoms[0].end
    return None


def _read_year_after(
    tokens: Sequence[Token], index: int, options: ReadingOptions
) -> tuple[str, int, tuple[str, ...]] | None:
    """Read the year that follows a day, month or season: (year, end, doubts)."""
    while _word(tokens, index) in {",", "of", "in"}:
        index += 1
    if index >= len(tokens):
        return None
    year = read_year(tokens, index)
    if year is not None:
        return year.digits, year.end, ()
    has_apostrophe = tokens[index].norm in {"'", "’"}
    index += has_apostrophe
    atoms = read_atoms(tokens, index, limit=1)
    if not atoms or len(atoms[0].digits) != 2 or atoms[0].scaled:
        return None
    if atoms[0].value < 32 and not has_apostrophe and _word(tokens, index - 1) not in MONTHS:
        full, doubts = _full_year(atoms[0].digits, options)
        return full, atoms[0].end, doubts
    if atoms[0].value < 32 and not has_apostrophe:
        return None
    full, doubts = _full_year(atoms[0].digits, options)
    return full, atoms[0].end, doubts


def _full_year(digits: str, options: ReadingOptions) -> tuple[str, tuple[str, ...]]:
    if len(digits) == 4:
        return digits, ()
    year = str(options.default_century + int(digits))
    return year, (f"the year {digits} was taken as {year}",)


def _word(tokens: Sequence[Token], index: int) -> str:
    return tokens[index].norm if 0 <= index < len(tokens) else ""
