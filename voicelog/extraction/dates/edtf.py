"""Building EDTF strings: the Library of Congress profile (2019) of ISO 8601-2."""

from __future__ import annotations

import calendar
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainDate:
    """A date as precise as it was said.

    Attributes:
        year: "1952", a masked year such as "195X" or "18XX", or "XXXX" when none was said.
        month: 1..12, a season 21..24, or None.
        day: 1..31 or None.
    """

    year: str
    month: int | None = None
    day: int | None = None

    def format(self) -> str:
        """Return the date in EDTF.

        >>> PlainDate(year="1952", month=6, day=4).format()
        '1952-06-04'
        """
        parts = [self.year]
        if self.month is not None:
            parts.append(f"{self.month:02d}")
        if self.day is not None:
            parts.append(f"{self.day:02d}")
        return "-".join(parts)

    def is_possible(self) -> bool:
        """Whether the calendar has such a day (29 February only in leap years)."""
        if self.month is not None and not (1 <= self.month <= 12 or 21 <= self.month <= 24):
            return False
        if self.day is None:
            return True
        if self.month is None or self.month > 12:
            return False
        year = int(self.year) if self.year.isdigit() else 2000
        return 1 <= self.day <= calendar.monthrange(year, self.month)[1]


def format_qualifier(*, approximate: bool, uncertain: bool) -> str:
    """Return EDTF's mark: "~" approximate, "?" uncertain, "%" both, else nothing."""
    return {(True, True): "%", (True, False): "~", (False, True): "?"}.get(
        (approximate, uncertain), ""
    )
