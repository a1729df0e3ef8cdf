"""Who is recorded, and whether they were told."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Told(StrEnum):
    """Whether the people who were recorded knew it beforehand."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Speakers:
    """The people whose voices a session records.

    Attributes:
        people: their names, as the repository writes them; none where nobody said.
        told: whether they were told that they are recorded.
    """

    people: tuple[str, ...] = ()
    told: Told = Told.UNKNOWN
