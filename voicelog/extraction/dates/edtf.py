"""Building EDTF strings: the Library of Congress profile (2019) of ISO 8601-2.

Only what level 2 allows is built: qualified, masked and seasonal dates can stand in an
interval, but not as an end of "one of a set", so such ends are widened or the interval is
written instead.
"""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass

NO_YEAR = "XXXX"
UNKNOWN = -1
"""A month or day that is said to be unknown ("some month of 2004")."""
_YEAR = re.compile(r"(?<![\dX-])\d{4}(?!\d)")
_YEARLESS = re.compile(rf"{NO_YEAR}-(\d\d)(?:-(\d\d))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainDate:
    """A date as precise as it was said.

    Attributes:
        year: "1952", a masked year such as "195X" or "18XX", or "XXXX" when none was said.
        month: 1..12, a season 21..24, :data:`UNKNOWN`, or None.
        day: 1..31, :data:`UNKNOWN`, or None.
    """

    year: str
    month: int | None = None
    day: int | None = None

    @property
    def has_year(self) -> bool:
        """Whether a year was said, masked or not."""
        return self.year != NO_YEAR

    @property
    def is_masked(self) -> bool:
        """Whether only the decade or the century was said."""
        return self.has_year and "X" in self.year

    @property
    def is_season(self) -> bool:
        """Whether the month is a season."""
        return self.month is not None and self.month > 12

    @property
    def is_exact(self) -> bool:
        """Whether year, and month and day where said, are all in figures."""
        return (
            self.year.isdecimal() and not self.is_season and UNKNOWN not in (self.month, self.day)
        )

    def format(self) -> str:
        """Return the date in EDTF.

        >>> PlainDate(year="1952", month=6, day=4).format()
        '1952-06-04'
        >>> PlainDate(year="2004", month=UNKNOWN).format()
        '2004-XX'
        """
        parts = [part for part in (self.month, self.day) if part is not None]
        return "-".join(
            [self.year, *("XX" if part == UNKNOWN else f"{part:02d}" for part in parts)]
        )

    def is_possible(self) -> bool:
        """Whether the calendar has such a day (29 February only in leap years)."""
        month, day = self.month, self.day
        if month is not None and month != UNKNOWN and not (1 <= month <= 12 or 21 <= month <= 24):
            return False
        if day is None or day == UNKNOWN:
            return True
        if month is None or month > 12:
            return False
        year = int(self.year) if self.year.isdecimal() else 2000
        longest = 31 if month == UNKNOWN else calendar.monthrange(year, month)[1]
        return 1 <= day <= longest

    def earliest(self) -> PlainDate:
        """Return the first year of a decade or century; any other date as it is.

        >>> PlainDate(year="195X").earliest().year
        '1950'
        """
        return PlainDate(year=self.year.replace("X", "0")) if self.is_masked else self

    def latest(self) -> PlainDate:
        """Return the last year of a decade or century; any other date as it is."""
        return PlainDate(year=self.year.replace("X", "9")) if self.is_masked else self


def format_qualifier(*, approximate: bool, uncertain: bool) -> str:
    """Return EDTF's mark: "~" approximate, "?" uncertain, "%" both, else nothing."""
    return {(True, True): "%", (True, False): "~", (False, True): "?"}.get(
        (approximate, uncertain), ""
    )


def format_before(date: PlainDate, qualifier: str = "") -> str | None:
    """Return "some time up to this date", or None where EDTF has no form for it.

    >>> format_before(PlainDate(year="1961")), format_before(PlainDate(year="1952"), "~")
    ('[..1961]', '../1952~')
    """
    bound = date.earliest()
    if qualifier or bound.is_season:
        return f"../{bound.format()}{qualifier}" if bound.has_year else None
    return f"[..{bound.format()}]" if bound.is_exact else None


def format_after(date: PlainDate, qualifier: str = "") -> str | None:
    """Return "some time from this date on", or None where EDTF has no form for it."""
    bound = date.latest()
    if qualifier or bound.is_season:
        return f"{bound.format()}{qualifier}/.." if bound.has_year else None
    return f"[{bound.format()}..]" if bound.is_exact else None


def keep_year(edtf: str, corrected: str) -> str:
    """Return a date that was said without a year, in the year of the date that it corrects.

    It stays without one where that date names no year or more than one, and where that year
    has no such day.

    >>> keep_year("XXXX-06-05", "1952-06-04"), keep_year("XXXX-06-05", "1951/1953")
    ('1952-06-05', 'XXXX-06-05')
    """
    years = set(_YEAR.findall(corrected))
    if len(years) != 1:
        return edtf
    (year,) = years
    days = [
        PlainDate(year=year, month=int(month), day=int(day) if day else None)
        for month, day in _YEARLESS.findall(edtf)
    ]
    return edtf.replace(NO_YEAR, year) if all(day.is_possible() for day in days) else edtf


def is_in_order(first: PlainDate, second: PlainDate) -> bool:
    """Whether the second date can be the first one or a later one."""
    begin, end = first.earliest(), second.latest()
    if not (begin.has_year and end.has_year) or begin.year != end.year:
        return not (begin.has_year and end.has_year) or begin.year < end.year
    if begin.is_season != end.is_season:
        return True
    said = [(a, b) for a, b in ((begin.month, end.month), (begin.day, end.day)) if a and b]
    return [a for a, _ in said] <= [b for _, b in said]
