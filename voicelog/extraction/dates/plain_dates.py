"""Plain dates: a day, month, season, year, decade or century, without "about" or "from".

Grammar::

    plain   := numeric | month [["the"] day] [year] | day ["of"] month [year]
             | season year | unknown | decade | century | year | "'" two digits
    year    := (","|"of"|"in")* (four digits, in words or figures | ["'"] two digits | decade)
    decade  := "fifties" | "nineteen fifties" | "1950s" | "'50s" | "nineteen hundreds"
    unknown := "some month of" year | "some day of" (month year | year)
             | day "of" ("some" | "an unknown") "month" year
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voicelog.extraction.dates.calendar_words import DECADES, MONTHS, OTHER_WORDS_TOO, SEASONS
from voicelog.extraction.dates.edtf import NO_YEAR, UNKNOWN, PlainDate
from voicelog.extraction.numbers.cardinals import read_atoms, read_year
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import Token

_BEFORE_YEAR = frozenset({",", "of", "in", "the", "some", "year"})
_MENDING = frozenset({"no", "sorry", "i", "mean", "make", "that", "um", "uh"})
_APOSTROPHES = frozenset({"'", "’", "‘"})
FIRST_YEAR, LAST_YEAR = 1400, 2099
"""Four figures outside this range are some other number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """A plain date, where its words end, and what is doubtful about it.

    Attributes:
        date: the date.
        end: index after its last token.
        doubts: reasons in plain words.
        bare_year: whether nothing but a year was said, which may be some other number.
    """

    date: PlainDate
    end: int
    doubts: tuple[str, ...] = ()
    bare_year: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Year:
    text: str
    end: int
    doubts: tuple[str, ...] = ()


def read_plain_date(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    """Return the plain date that begins at ``start``, or None."""
    for grammar in (
        _read_numeric,
        _read_month_first,
        _read_day_first,
        _read_season,
        _read_unknown,
        _read_century,
        _read_decade,
        _read_year_only,
    ):
        plain = grammar(tokens, start, options)
        if plain is not None:
            return plain
    return None


def read_day(tokens: Sequence[Token], index: int) -> tuple[int, int] | None:
    """Return the day of a month said at ``index`` and where it ends; 32 to 99 are read too."""
    if index >= len(tokens):
        return None
    ordinal = read_ordinal(tokens, index)
    if ordinal is not None:
        return (ordinal.value, ordinal.end) if ordinal.value <= 99 else None
    atoms = read_atoms(tokens, index, limit=1)
    if atoms and not atoms[0].scaled and len(atoms[0].digits) <= 2 and atoms[0].value:
        return atoms[0].value, atoms[0].end
    return None


def read_month(tokens: Sequence[Token], index: int) -> tuple[int, int] | None:
    """Return the month named at ``index`` and where its name ends, or None."""
    month = MONTHS.get(word_at(tokens, index))
    if month is None:
        return None
    has_stop = word_at(tokens, index + 1) == "." and len(tokens[index].norm) <= 4
    return month, index + 1 + has_stop


def read_year_after(
    tokens: Sequence[Token], index: int, options: ReadingOptions
) -> tuple[str, int, tuple[str, ...]] | None:
    """Return the year, decade or two-digit year that follows a day or month, or None.

    Returns:
        The year as EDTF writes it, the index after it, and the doubts it raises.
    """
    year = _read_year(tokens, index, options)
    return None if year is None else (year.text, year.end, year.doubts)


def word_at(tokens: Sequence[Token], index: int) -> str:
    """Return the token's form at ``index``, or "" outside the note."""
    return tokens[index].norm if 0 <= index < len(tokens) else ""


def _read_numeric(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    """Read 1952-06-04, 1952-06, 6/4/1952 and 4.6.1952."""
    parts = _numeric_parts(tokens, start)
    lengths = [len(part) for part in parts]
    numbers = [int(part) for part in parts]
    end = start + 2 * len(parts) - 1
    if len(parts) >= 2 and lengths[0] == 4 and FIRST_YEAR <= numbers[0] <= LAST_YEAR:
        if len(parts) == 3 and max(lengths[1:]) <= 2:
            date = PlainDate(year=parts[0], month=numbers[1], day=numbers[2])
            return Plain(date=date, end=end)
        is_month = word_at(tokens, start + 1) == "-" and lengths[1] == 2 and 1 <= numbers[1] <= 12
        if len(parts) == 2 and is_month:
            return Plain(date=PlainDate(year=parts[0], month=numbers[1]), end=start + 3)
    if len(parts) == 3 and max(lengths[:2]) <= 2 and lengths[2] in {2, 4}:
        day, month = numbers[:2] if options.day_first else (numbers[1], numbers[0])
        if month > 12 >= day:
            month, day = day, month
        year = _full_year(parts[2], end, options)
        date = PlainDate(year=year.text, month=month, day=day)
        return Plain(date=date, end=end, doubts=year.doubts)
    return None


def _numeric_parts(tokens: Sequence[Token], start: int) -> list[str]:
    """Return the figures that one and the same sign joins without spaces, three at most."""
    sign = word_at(tokens, start + 1)
    parts = [tokens[start].norm]
    if sign not in {"-", "/", "."}:
        return []
    index = start + 1
    while index + 1 < len(tokens) and tokens[index].norm == sign and len(parts) < 3:
        following = tokens[index + 1]
        if not (tokens[index].glued and following.glued):
            break
        parts.append(following.norm)
        index += 2
    figures = all(part.isascii() and part.isdecimal() and len(part) <= 4 for part in parts)
    return parts if figures and len(parts) > 1 else []


def _read_month_first(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    """Read "June [the] fourth [,] [nineteen] fifty two", "June 1952", "June fifty two"."""
    found = read_month(tokens, start)
    if found is None:
        return None
    month, index = found
    year = _read_year(tokens, index, options)
    day = read_day(tokens, index + 1 if word_at(tokens, index) == "the" else index)
    if year is not None and (not year.doubts or day is None or day[0] > 31):
        return Plain(date=PlainDate(year=year.text, month=month), end=year.end, doubts=year.doubts)
    if day is not None:
        return _with_year(tokens, PlainDate(year=NO_YEAR, month=month, day=day[0]), day[1], options)
    if tokens[start].norm in OTHER_WORDS_TOO:
        return None
    return Plain(date=PlainDate(year=NO_YEAR, month=month), end=index)


def _read_day_first(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    """Read "the fourth of June [,] nineteen fifty two", "4 June 1952"."""
    day = read_day(tokens, start)
    if day is None:
        return None
    index = day[1] + 1 if word_at(tokens, day[1]) == "of" else day[1]
    month = read_month(tokens, index)
    if month is not None:
        date = PlainDate(year=NO_YEAR, month=month[0], day=day[0])
        return _with_year(tokens, date, month[1], options)
    if index > day[1] and word_at(tokens, index) in {"some", "an", "unknown"}:
        while word_at(tokens, index) in {"some", "an", "unknown"}:
            index += 1
        year = _read_year(tokens, index + 1, options)
        if word_at(tokens, index) == "month" and year is not None:
            date = PlainDate(year=year.text, month=UNKNOWN, day=day[0])
            return Plain(date=date, end=year.end, doubts=year.doubts)
    return None


def _with_year(
    tokens: Sequence[Token], date: PlainDate, end: int, options: ReadingOptions
) -> Plain:
    date, end = _mend_day(tokens, date, end)
    year = _read_year(tokens, end, options)
    if year is None:
        return Plain(date=date, end=end)
    full = PlainDate(year=year.text, month=date.month, day=date.day)
    return Plain(date=full, end=year.end, doubts=year.doubts)


def _mend_day(tokens: Sequence[Token], date: PlainDate, end: int) -> tuple[PlainDate, int]:
    """Take the second day of "June fourth, no, fifth, 1952"."""
    index = end
    while word_at(tokens, index) in _MENDING | {","}:
        index += 1
    if date.day is None or not _MENDING & {token.norm for token in tokens[end:index]}:
        return date, end
    day = read_ordinal(tokens, index) if index < len(tokens) else None
    if day is None:
        return date, end
    return replace(date, day=day.value), day.end


def _read_season(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    season = SEASONS.get(tokens[start].norm)
    year = None if season is None else _read_year(tokens, start + 1, options)
    # EDTF has no season of a decade; "fall 12" is more likely some other number.
    if year is None or "X" in year.text or (year.doubts and int(year.text[2:]) < 32):
        return None
    return Plain(date=PlainDate(year=year.text, month=season), end=year.end, doubts=year.doubts)


def _read_unknown(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    """Read the rest of "some month in 2004", "some day of July 2004", "some day in 1999"."""
    if word_at(tokens, start - 1) != "some" or word_at(tokens, start) not in {"month", "day"}:
        return None
    index = start + 1
    while word_at(tokens, index) in {"in", "of"}:
        index += 1
    month = read_month(tokens, index) if tokens[start].norm == "day" else None
    year = _read_year(tokens, month[1] if month else index, options)
    if year is None or "X" in year.text:
        return None
    if tokens[start].norm == "month":
        return Plain(date=PlainDate(year=year.text, month=UNKNOWN), end=year.end)
    date = PlainDate(year=year.text, month=month[0] if month else UNKNOWN, day=UNKNOWN)
    return Plain(date=date, end=year.end, doubts=year.doubts)


def _read_century(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    del options
    ordinal = read_ordinal(tokens, start)
    if ordinal and word_at(tokens, ordinal.end) == "century" and 1 < ordinal.value <= 21:
        return Plain(date=PlainDate(year=f"{ordinal.value - 1:02d}XX"), end=ordinal.end + 1)
    return None


def _read_decade(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    """Read "nineteen fifties", "the fifties", "1950s", "'50s"."""
    hundreds = options.default_century // 100
    word = tokens[start].norm
    if word in DECADES and word != "tens":
        return Plain(date=PlainDate(year=f"{hundreds}{DECADES[word]}X"), end=start + 1)
    index = start + 1 if word in _APOSTROPHES else start
    digits = word_at(tokens, index)
    if digits.isascii() and digits.isdecimal():
        return _read_decade_in_figures(tokens, index, hundreds)
    atoms = read_atoms(tokens, index, limit=1) if index < len(tokens) else ()
    if not atoms or len(atoms[0].digits) != 2 or not 14 <= atoms[0].value <= 20:
        return None
    said, following = atoms[0], word_at(tokens, atoms[0].end)
    if following in DECADES:
        year = f"{said.digits}{DECADES[following]}X"
    elif following == "hundreds":
        year = f"{said.digits}XX"
    else:
        return None
    return Plain(date=PlainDate(year=year), end=said.end + 1)


def _read_decade_in_figures(tokens: Sequence[Token], index: int, hundreds: int) -> Plain | None:
    digits = tokens[index].norm
    ending = tokens[index + 1] if index + 1 < len(tokens) else None
    if ending is None or not ending.glued or ending.norm not in {"s", "'s"} or digits[-1] != "0":
        return None
    if len(digits) == 4:
        # "the 1900s" is the century, though a speaker may mean its first ten years.
        year = f"{digits[:2]}XX" if digits.endswith("00") else f"{digits[:3]}X"
        return Plain(date=PlainDate(year=year), end=index + 2)
    if len(digits) == 2:
        return Plain(date=PlainDate(year=f"{hundreds}{digits[0]}X"), end=index + 2)
    return None


def _read_year_only(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Plain | None:
    if tokens[start].norm in _APOSTROPHES:
        figures = tokens[start + 1] if start + 1 < len(tokens) else None
        if figures and figures.glued and figures.norm.isdecimal() and len(figures.norm) == 2:
            year = _full_year(figures.norm, start + 2, options)
            return Plain(date=PlainDate(year=year.text), end=year.end, doubts=year.doubts)
        return None
    four = read_year(tokens, start)
    if four is None or not FIRST_YEAR <= four.value <= LAST_YEAR:
        return None
    return Plain(date=PlainDate(year=four.digits), end=four.end, bare_year=True)


def _read_year(tokens: Sequence[Token], index: int, options: ReadingOptions) -> _Year | None:
    """Read the year after a day, month or season."""
    begin = index
    while word_at(tokens, index) in _BEFORE_YEAR:
        index += 1
    if index >= len(tokens):
        return None
    skipped = {token.norm for token in tokens[begin:index]}
    if "," not in skipped:
        decade = _read_decade(tokens, index, options)
        if decade is not None and "XX" not in decade.date.year:
            return _Year(text=decade.date.year, end=decade.end)
    # "June fourth, the 1952 programme" has a day and, of something else, a year.
    if skipped & {"the", "some"} and "year" not in skipped:
        return None
    four = read_year(tokens, index)
    if four is not None:
        return _Year(text=four.digits, end=four.end)
    return _read_two_digit_year(tokens, index, options)


def _read_two_digit_year(
    tokens: Sequence[Token], index: int, options: ReadingOptions
) -> _Year | None:
    has_apostrophe = tokens[index].norm in _APOSTROPHES
    atoms = read_atoms(tokens, index + has_apostrophe, limit=1)
    if not atoms or len(atoms[0].digits) != 2 or atoms[0].scaled:
        return None
    # "June twelve" is a day, "June '12" a year.
    if atoms[0].value < 32 and not has_apostrophe and word_at(tokens, index - 1) in MONTHS:
        return None
    return _full_year(atoms[0].digits, atoms[0].end, options)


def _full_year(digits: str, end: int, options: ReadingOptions) -> _Year:
    if len(digits) == 4:
        return _Year(text=digits, end=end)
    year = str(options.default_century + int(digits))
    return _Year(text=year, end=end, doubts=(f"the year {digits} was taken as {year}",))
