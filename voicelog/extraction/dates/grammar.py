"""The grammar of dates as people say and write them.

Grammar::

    date   := "between" point "and" point                     [A..B]
            | ["from"] point ("to"|"through"|"-") point       A/B
            | ("before"|"by"|"no later than"|...) point       [..A]
            | ("after"|"since"|"not before"|...) point        [A..]
            | ("until"|"up to") point                         ../A
            | point ("or later" | "or earlier" | "onwards")   [A..] | [..A] | A/..
            | point "or" point | ["one of"] point ("," point)* "or" point      [A,B]
            | "all of" point ("," point)* ["and" point]       {A,B}
            | point

A point is one date with its qualifiers (:mod:`voicelog.extraction.dates.points`). What two
dates share is said once: "June to August 1955", "4 to 6 June 1952", "1951-52".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voicelog.extraction.dates.calendar_words import (
    AFTER,
    APPROXIMATE,
    BEFORE,
    ONWARDS,
    OR_AFTER,
    OR_BEFORE,
    SEASONS,
    THROUGH,
    UNTIL,
)
from voicelog.extraction.dates.edtf import (
    NO_YEAR,
    PlainDate,
    format_after,
    format_before,
    format_qualifier,
    is_in_order,
)
from voicelog.extraction.dates.plain_dates import (
    read_day,
    read_month,
    read_year_after,
    word_at,
)
from voicelog.extraction.dates.points import Point, match_any, read_point
from voicelog.extraction.numbers.cardinals import read_atoms
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import Token

LONGEST_CHOICE = 12
"""Dates; nobody gives more to choose from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DateReading:
    """A date as EDTF, where its words end, and what is doubtful about it.

    Attributes:
        edtf: the date, or None where the words name an impossible one, or one that
            EDTF has no form for.
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


def read_date(tokens: Sequence[Token], start: int, options: ReadingOptions) -> DateReading | None:
    """Return the date that begins at ``start``, or None."""
    if _continues_a_word(tokens, start):
        return None
    word = tokens[start].norm
    if word in {"between", "from"}:
        return _read_pair(tokens, start, options)
    if word in {"one", "all"} and word_at(tokens, start + 1) == "of":
        choice = _read_choice(tokens, start + 2, options, is_one=word == "one")
        if choice is not None:
            return choice
    opened = _read_open(tokens, start, options)
    if opened is not None:
        return opened
    first = _read_bound(tokens, start, options, links=THROUGH | {"or"})
    if first is None:
        return None
    return (
        _read_choice(tokens, start, options, is_one=True, needs_or=True)
        or _read_continuation(tokens, first, options)
        or _read_ending(tokens, first)
    )


def _continues_a_word(tokens: Sequence[Token], start: int) -> bool:
    """Whether a figure here belongs to what stands before it ("E7-12-26")."""
    return (
        start > 0
        and tokens[start].glued
        and tokens[start].norm.isdecimal()
        and tokens[start - 1].norm.isalpha()
    )


def _reading(edtf: str | None, *points: Point, end: int | None = None) -> DateReading:
    return DateReading(
        edtf=edtf if all(one.date.is_possible() for one in points) else None,
        end=points[-1].end if end is None else end,
        doubts=tuple(doubt for one in points for doubt in one.doubts),
        aside=tuple(aside for one in points for aside in one.aside),
    )


def _without_form(reading: DateReading, tokens: Sequence[Token], start: int) -> DateReading:
    """Return the reading with a doubt where EDTF can't say what the words do."""
    if reading.edtf is not None or reading.doubts:
        return reading
    said = " ".join(token.text for token in tokens[start : reading.end])
    return replace(reading, doubts=(f"{said!r} can't be written as a date",))


def _read_pair(tokens: Sequence[Token], start: int, options: ReadingOptions) -> DateReading | None:
    is_between = tokens[start].norm == "between"
    links = frozenset({"and"}) if is_between else THROUGH
    first = _read_bound(tokens, start + 1, options, links=links) or _read_bare_month(
        tokens, start + 1
    )
    if first is None:
        return None
    second = None
    if word_at(tokens, first.end) in links:
        second = _read_second(tokens, first, options)
    if second is not None and first.date.is_season and second.date.month is None:
        return None
    if second is None:
        if is_between or not first.date.has_year:
            return None
        return replace(_read_ending(tokens, first), bare_year=False)
    return _range(first, second, is_between=is_between)


def _range(first: Point, second: Point, *, is_between: bool) -> DateReading:
    first, second = _share_year(first, second)
    if not is_in_order(first.date, second.date):
        doubt = f"the date ends before it begins: {first.format()} to {second.format()}"
        return replace(_reading(None, first, second), doubts=(doubt,))
    if is_between and (first.date.is_masked or second.date.is_masked):
        first = replace(first, date=first.date.earliest())
        second = replace(second, date=second.date.latest())
    if is_between and first.is_exact and second.is_exact:
        return _reading(f"[{first.format()}..{second.format()}]", first, second)
    return _reading(f"{first.format()}/{second.format()}", first, second)


def _read_open(tokens: Sequence[Token], start: int, options: ReadingOptions) -> DateReading | None:
    for wordings, kind in ((BEFORE, "before"), (AFTER, "after"), (UNTIL, "until")):
        index = match_any(tokens, start, wordings)
        point = read_point(tokens, index, options) if index else None
        # "by June" may be a person.
        if point is None or (word_at(tokens, start) == "by" and not point.date.has_year):
            continue
        if kind == "until":
            bound = point.date.latest()
            edtf = f"../{bound.format()}{point.qualifier}" if bound.has_year else None
        else:
            build = format_before if kind == "before" else format_after
            edtf = build(point.date, point.qualifier)
        return _without_form(_reading(edtf, point), tokens, start)
    return None


def _read_ending(tokens: Sequence[Token], point: Point) -> DateReading:
    """Read "1950 or later", "1950 onwards", or the date alone."""
    for wordings, build in ((OR_BEFORE, format_before), (OR_AFTER, format_after)):
        end = match_any(tokens, point.end, wordings)
        edtf = build(point.date, point.qualifier) if end else None
        if end and edtf:
            return _reading(edtf, point, end=end)
    end = match_any(tokens, point.end, ONWARDS)
    bound = point.date.earliest()
    if end and bound.has_year:
        return _reading(f"{bound.format()}{point.qualifier}/..", point, end=end)
    return replace(_reading(point.format(), point), bare_year=point.bare_year)


def _read_continuation(
    tokens: Sequence[Token], first: Point, options: ReadingOptions
) -> DateReading | None:
    link = word_at(tokens, first.end)
    if link not in THROUGH and link != "or":
        return None
    second = _read_second(tokens, first, options)
    if second is None:
        return None
    if link != "or":
        return _range(first, second, is_between=False)
    first, second = _share_year(first, second)
    return _set_of([first, second], [first.date.format(), second.date.format()], "[]")


def _read_choice(
    tokens: Sequence[Token],
    start: int,
    options: ReadingOptions,
    *,
    is_one: bool,
    needs_or: bool = False,
) -> DateReading | None:
    """Read "1667, 1668 or 1670 to 1672"."""
    points: list[Point] = []
    parts: list[str] = []
    index, joins = start, set[str]()
    while len(points) < LONGEST_CHOICE and (point := read_point(tokens, index, options)):
        points.append(point)
        parts.append(point.date.format())
        last = _read_second(tokens, point, options) if _is_through(tokens, point.end) else None
        if last is not None:
            points.append(last)
            parts[-1] = f"{point.date.format()}..{last.date.format()}"
        index = points[-1].end
        following = index
        while word_at(tokens, following) in {",", "or" if is_one else "and"}:
            joins.add(tokens[following].norm)
            following += 1
        if following == index or (needs_or and "," not in joins):
            break
        index = following
    if len(parts) < 2 or (needs_or and joins != {",", "or"}):
        return None
    return _set_of(points, parts, "[]" if is_one else "{}")


def _set_of(points: list[Point], parts: list[str], brackets: str) -> DateReading:
    """Return one of, or all of, several dates; EDTF takes no seasons there."""
    edtf = f"{brackets[0]}{','.join(parts)}{brackets[1]}"
    reading = _reading(edtf, *points)
    if any(point.date.is_season for point in points):
        doubt = f"{edtf} is no date that can be written: seasons can't stand in a choice"
        return replace(reading, edtf=None, doubts=(*reading.doubts, doubt))
    if any(point.qualifier for point in points):
        doubt = "one of the dates was said to be uncertain, and the row can't show which"
        return replace(reading, doubts=(*reading.doubts, doubt))
    return reading


def _is_through(tokens: Sequence[Token], index: int) -> bool:
    return word_at(tokens, index) in THROUGH


def _read_bound(
    tokens: Sequence[Token], start: int, options: ReadingOptions, *, links: frozenset[str]
) -> Point | None:
    """Read a point, or a day whose month is said with the second one ("4 to 6 June")."""
    point = read_point(tokens, start, options)
    if point is not None:
        return point
    index = start
    approximate = False
    while word_at(tokens, index) in {"the", *APPROXIMATE}:
        approximate = approximate or tokens[index].norm in APPROXIMATE
        index += 1
    day = read_day(tokens, index)
    if day is None or day[0] > 31 or word_at(tokens, day[1]) not in links:
        return None
    second = read_point(tokens, day[1] + 1, options)
    if second is None or second.date.day is None or second.date.day <= day[0]:
        return None
    qualifier = format_qualifier(approximate=approximate, uncertain=False)
    return Point(date=replace(second.date, day=day[0]), end=day[1], qualifier=qualifier)


def _read_second(tokens: Sequence[Token], first: Point, options: ReadingOptions) -> Point | None:
    """Read what follows the link after ``first``: a point, or what differs from ``first``."""
    index = first.end + 1
    if index >= len(tokens):
        return None
    return (
        _read_other_day(tokens, index, first, options)
        or read_point(tokens, index, options)
        or _read_short_year(tokens, index, first)
    )


def _read_other_day(
    tokens: Sequence[Token], index: int, first: Point, options: ReadingOptions
) -> Point | None:
    """Read the "6, 1952" of "June 4 to 6, 1952"."""
    if first.date.day is None or first.date.year != NO_YEAR:
        return None
    day = read_day(tokens, index + 1 if word_at(tokens, index) == "the" else index)
    if day is None or not first.date.day < day[0] <= 31:
        return None
    year = read_year_after(tokens, day[1], options)
    if year is None:
        is_last = day[1] >= len(tokens) or not tokens[day[1]].is_word
        return Point(date=replace(first.date, day=day[0]), end=day[1]) if is_last else None
    date = PlainDate(year=year[0], month=first.date.month, day=day[0])
    return Point(date=date, end=year[1], doubts=year[2])


def _read_short_year(tokens: Sequence[Token], index: int, first: Point) -> Point | None:
    """Read the 52 of "1951-52", the "fifty three" of "nineteen fifty two to fifty three"."""
    if first.date.month is not None or not first.date.year.isdecimal():
        return None
    has_apostrophe = tokens[index].norm in {"'", "’"} and index + 1 < len(tokens)
    atoms = read_atoms(tokens, index + has_apostrophe, limit=1)
    if not atoms or len(atoms[0].digits) != 2 or atoms[0].scaled:
        return None
    year = first.date.year[:2] + atoms[0].digits
    # What goes on ("1952-60-x") is some other number.
    goes_on = word_at(tokens, atoms[0].end) == "-" and tokens[atoms[0].end].glued
    if year <= first.date.year or goes_on:
        return None
    return Point(date=PlainDate(year=year), end=atoms[0].end)


def _read_bare_month(tokens: Sequence[Token], start: int) -> Point | None:
    """Read a month or season whose name is also another word, where only a date can stand."""
    season = SEASONS.get(word_at(tokens, start))
    month = (season, start + 1) if season else read_month(tokens, start)
    if month is None:
        return None
    return Point(date=PlainDate(year=NO_YEAR, month=month[0]), end=month[1])


def _share_year(first: Point, second: Point) -> tuple[Point, Point]:
    """Give "June to August 1955" its year on both sides."""
    is_shared = not first.date.has_year and second.date.has_year and second.date.month is not None
    if not is_shared:
        return first, second
    return replace(first, date=replace(first.date, year=second.date.year)), second
