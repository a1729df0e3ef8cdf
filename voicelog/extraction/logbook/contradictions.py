"""What a note says against what a person decided: kept as a doubt, never as a value."""

from __future__ import annotations

from typing import Any


def say_contradiction(note: int, field: str, value: Any) -> str:
    """Return the doubt that a note raises about a decided value.

    >>> say_contradiction(57, "date", "1953-06-04")
    'note 57 says otherwise, after this was decided: date 1953-06-04'
    """
    return (
        f"note {note} says otherwise, after this was decided: "
        f"{field.replace('_', ' ')} {_show(value)}"
    )


def say_struck(note: int) -> str:
    """Return the doubt about a decided entry whose note was struck afterwards."""
    return f"note {note}, behind this entry, was struck after it was decided"


def _show(value: Any) -> str:
    match value:
        case None | ():
            return "nothing"
        case tuple():
            return ", ".join(_show(part) for part in value)
        case bool():
            return "yes" if value else "no"
        case _:
            return str(value)
