"""Numbers and times as a reader of the report wants them."""

from __future__ import annotations


def percent(part: int, whole: int) -> str:
    """Return a share in whole percent; nothing that is there is said to be 0 %.

    >>> percent(1, 3), percent(1, 1000), percent(999, 1000), percent(0, 5), percent(0, 0)
    ('33 %', '<1 %', '>99 %', '0 %', '–')
    """
    if whole == 0:
        return "–"
    share = round(100 * part / whole)
    if share == 0 and part:
        return "<1 %"
    if share == 100 and part != whole:
        return ">99 %"
    return f"{share} %"


def duration(seconds: float) -> str:
    """Return a time in the two largest units that it has.

    >>> duration(42), duration(125), duration(7_380), duration(0)
    ('42 s', '2 min 5 s', '2 h 3 min', '0 s')
    """
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    if minutes:
        return f"{minutes} min {left} s" if left else f"{minutes} min"
    return f"{left} s"


def count(number: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun.

    >>> count(1, "item"), count(2, "item"), count(0, "leaf", "leaves")
    ('1 item', '2 items', '0 leaves')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
