"""For how long the sound of notes is kept; the notes themselves are kept for good."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from voicelog.errors import ParseError

_DAYS = re.compile(r"(\d{1,5}) days?")


class KeepSound(StrEnum):
    """What ends the keeping of a recording's sound."""

    ALWAYS = "keep"
    UNTIL_CONFIRMED = "until confirmed"
    FOR_DAYS = "for days"


@dataclass(frozen=True, slots=True, kw_only=True)
class Retention:
    """A repository's rule.

    Attributes:
        keep: what ends the keeping.
        days: for how many days from when the recording was taken in; 0 unless ``keep`` is
            ``FOR_DAYS``.
    """

    keep: KeepSound = KeepSound.ALWAYS
    days: int = 0


def parse_retention(text: str) -> Retention:
    """Return the rule that a setting names: ``keep``, ``until confirmed``, or ``N days``.

    >>> parse_retention("90 days").days
    90

    Raises:
        ParseError: it is none of these.
    """
    if days := _DAYS.fullmatch(text):
        return Retention(keep=KeepSound.FOR_DAYS, days=int(days[1]))
    if text in (KeepSound.ALWAYS, KeepSound.UNTIL_CONFIRMED):
        return Retention(keep=KeepSound(text))
    raise ParseError(
        f"{text!r} is no rule; write 'keep', 'until confirmed', or a number of days "
        "such as '90 days'",
        text=text,
    )


def format_retention(retention: Retention) -> str:
    """Return a rule as the setting names it.

    >>> format_retention(Retention(keep=KeepSound.FOR_DAYS, days=90))
    '90 days'
    """
    if retention.keep is KeepSound.FOR_DAYS:
        return f"{retention.days} {'day' if retention.days == 1 else 'days'}"
    return str(retention.keep)
