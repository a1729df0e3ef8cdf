"""Dates of entries as other standards want them: bounds, certainty, and words.

The dates are EDTF, the Library of Congress profile (4 February 2019) of ISO 8601-2. The words
are those of DACS (Describing Archives: A Content Standard), 2.4: year before month before day,
"circa", "probably", "1950s".
"""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from functools import lru_cache

_LEVEL_0 = re.compile(r"\d{4}(?:-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01]))?)?")
_MONTH = re.compile(r"0[1-9]|1[0-2]")
_POINT = re.compile(
    r"(?P<year>\d{4}|\d{3}X|\d\dXX|XXXX)(?:-(?P<month>\d\d|XX)(?:-(?P<day>\d\d|XX))?)?(?P<qualifier>[?~%]?)"
)
_ONE_OF = re.compile(r"\[(?P<first>[^\],]*?)\.\.(?P<last>[^\],]*)\]")
# Northern spring to winter; EDTF level 1, "Seasons", gives no months, so these are common use.
_SEASONS = {
    21: ("spring", 3, 5),
    22: ("summer", 6, 8),
    23: ("autumn", 9, 11),
    24: ("winter", 1, 12),
}
_CERTAINTY = {"~": "approximate", "?": "questionable", "%": "approximate and questionable"}
_WORD_BEFORE = {"": "", "~": "circa ", "?": "probably ", "%": "probably circa "}


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One end of a date, or the whole of a date that has no ends.

    Attributes:
        words: in words, after DACS 2.4.
        exact: the date in ISO 8601 (EDTF level 0) where it is as plain as that, qualifier or
            not, else None.
        earliest: the first day, month or year that it can be, in ISO 8601, or None.
        latest: the last one.
    """

    words: str
    exact: str | None = None
    earliest: str | None = None
    latest: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadDate:
    """What an EDTF date says.

    Attributes:
        edtf: the date as it stands in the entry.
        words: in words, after DACS 2.4.
        begin: its beginning, or the whole of it; None where the beginning is open or unknown.
        end: its end, or None where it has none of its own.
        is_range: whether it lasts from ``begin`` to ``end``.
        certainty: "approximate", "questionable", both, or None.
    """

    edtf: str
    words: str
    begin: Point | None
    end: Point | None = None
    is_range: bool = False
    certainty: str | None = None

    @property
    def is_plain(self) -> bool:
        """Whether it is EDTF level 0: a date or a range in figures and nothing else."""
        return all(_LEVEL_0.fullmatch(part) for part in self.edtf.split("/"))

    @property
    def years(self) -> tuple[str, str] | None:
        """The first and the last year that it can be, or None where one of them is open."""
        end = self.end if self.is_range else self.begin
        if not (self.begin and self.begin.earliest and end and end.latest):
            return None
        return self.begin.earliest[:4], end.latest[:4]


@lru_cache(maxsize=4096)
def read_date(edtf: str) -> ReadDate:
    """Return what a date says; one in a form that isn't known here is only given in words.

    >>> read_date("1952-06-04").words, read_date("1955~").words, read_date("195X").words
    ('1952 June 4', 'circa 1955', '1950s')
    >>> read_date("[..1961]").words, read_date("1949/1951").words
    ('1961 or earlier', '1949-1951')
    """
    if found := _ONE_OF.fullmatch(edtf):
        return _read_one_of(edtf, found["first"], found["last"])
    if edtf.count("/") == 1:
        return _read_range(edtf, *edtf.split("/"))
    point = _read_point(edtf)
    if point is None:
        return ReadDate(edtf=edtf, words=edtf, begin=None)
    return ReadDate(edtf=edtf, words=point.words, begin=point, certainty=_CERTAINTY.get(edtf[-1]))


def _read_one_of(edtf: str, first: str, last: str) -> ReadDate:
    begin, end = _read_point(first), _read_point(last)
    if (first and begin is None) or (last and end is None) or (begin is None and end is None):
        return ReadDate(edtf=edtf, words=edtf, begin=None)
    if begin is None:
        words = f"{end.words} or earlier" if end else edtf
    elif end is None:
        words = f"{begin.words} or later"
    else:
        words = f"between {begin.words} and {end.words}"
    whole = Point(
        words=words,
        earliest=begin.earliest if begin else None,
        latest=end.latest if end else None,
    )
    return ReadDate(edtf=edtf, words=words, begin=whole)


def _read_range(edtf: str, first: str, last: str) -> ReadDate:
    begin, end = _read_point(first), _read_point(last)
    known = ("", "..")
    if (begin is None and first not in known) or (end is None and last not in known):
        return ReadDate(edtf=edtf, words=edtf, begin=None)
    if begin and end:
        words = f"{begin.words}-{end.words}"
    elif begin:
        words = f"{begin.words} onwards" if last else f"{begin.words}-unknown"
    elif end:
        words = f"until {end.words}" if first else f"unknown-{end.words}"
    else:
        words = edtf
    marks = {mark for mark in _CERTAINTY if mark in edtf}
    mark = marks.pop() if len(marks) == 1 else "%" if marks else ""
    return ReadDate(
        edtf=edtf, words=words, begin=begin, end=end, is_range=True, certainty=_CERTAINTY.get(mark)
    )


def _read_point(text: str) -> Point | None:
    found = _POINT.fullmatch(text)
    if found is None:
        return None
    year, month, day = found["year"], found["month"], found["day"]
    if month and not (_MONTH.fullmatch(month) or month == "XX" or int(month) in _SEASONS):
        # Southern seasons, quarters and the like (level 2): said as they are.
        return None
    words = _WORD_BEFORE[found["qualifier"]] + _say(year, month, day)
    plain = text.rstrip("?~%")
    season = _SEASONS.get(int(month)) if month and month.isdecimal() else None
    exact = plain if _LEVEL_0.fullmatch(plain) and not season else None
    if year == "XXXX":
        return Point(words=words)
    first_year, last_year = year.replace("X", "0"), year.replace("X", "9")
    if exact:
        return Point(words=words, exact=exact, earliest=exact, latest=exact)
    if season:
        return Point(
            words=words,
            earliest=f"{first_year}-{season[1]:02d}",
            latest=f"{last_year}-{season[2]:02d}",
        )
    if month and _MONTH.fullmatch(month) and "X" not in year:
        # "2004-07-XX": some day of that month.
        return Point(words=words, earliest=f"{year}-{month}", latest=f"{year}-{month}")
    return Point(words=words, earliest=first_year, latest=last_year)


def _say(year: str, month: str | None, day: str | None) -> str:
    spoken = _say_year(year)
    if month is None:
        return spoken
    if month == "XX":
        return f"{spoken}, month unknown" if day in (None, "XX") else f"{spoken}, day {int(day)}"
    number = int(month)
    name = _SEASONS[number][0] if number in _SEASONS else calendar.month_name[number]
    if day is None:
        return f"{spoken} {name}"
    return f"{spoken} {name}, day unknown" if day == "XX" else f"{spoken} {name} {int(day)}"


def _say_year(year: str) -> str:
    if year == "XXXX":
        return "year unknown,"
    if year.endswith("XX") and year[:2].isdecimal():
        return f"{year[:2]}00-{year[:2]}99"
    if year.endswith("X") and year[:3].isdecimal():
        return f"{year[:3]}0s"
    return year
