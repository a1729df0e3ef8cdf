"""What a repository decides about how its notes are read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from voicelog.extraction.doubting.unclear import DEFAULT_QUERY_BELOW


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOptions:
    """How numbers, dates and sizes are understood where the words leave it open.

    Attributes:
        default_unit: the unit of a size said without one.
        default_century: first year of the century that two-digit years fall in.
        day_first: whether "4/6/1952" is the fourth of June.
        first_page: the number of the page that is leaf 1 recto.
        accession_patterns: regular expressions that accession numbers must match;
            empty when any shape is allowed.
        known_accessions: the repository's register, as it writes the numbers.
        repair_mishearings: whether heard words that fit nothing are compared by sound
            with the vocabulary.
        query_below: the confidence, 0..1, under which an entry is queried.
    """

    default_unit: Literal["inch", "cm", "mm"] = "inch"
    default_century: int = 1900
    day_first: bool = False
    first_page: int = 1
    accession_patterns: tuple[str, ...] = ()
    known_accessions: tuple[str, ...] = ()
    repair_mishearings: bool = True
    query_below: float = DEFAULT_QUERY_BELOW
