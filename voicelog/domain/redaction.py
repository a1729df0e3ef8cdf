"""Words taken out for good: where they stood, and what stands there now."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

MASK = "█"
"""Stands for each character that was redacted, so that the rest keeps its place."""
_WORD = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class RedactedStretch:
    """A stretch of one note that is to be redacted.

    Attributes:
        note: the note's number.
        first: index of its first character in the note's text.
        last: index after its last character.
        text: the words; empty where they are no longer known.
    """

    note: int
    first: int
    last: int
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Redaction:
    """One redaction on record.

    Attributes:
        number: its number in the log.
        stretch: where the words stood.
        start_s: where their sound began in the note's recording, or None.
        end_s: where it ended.
        by: who ordered it.
        at: when, ISO 8601 with zone.
        reason: why.
        is_done: whether it is complete; one that was cut off is finished by the next.
    """

    number: int
    stretch: RedactedStretch
    start_s: float | None
    end_s: float | None
    by: str
    at: str
    reason: str
    is_done: bool


def mask(text: str) -> str:
    """Return a text with every character that is no space covered.

    >>> mask("Ida Marsh")
    '███ █████'
    """
    return re.sub(r"\S", MASK, text)


def mask_stretch(text: str, first: int, last: int) -> str:
    """Return a text with one stretch of it covered."""
    return text[:first] + mask(text[first:last]) + text[last:]


def widen_to_words(text: str, first: int, last: int) -> tuple[int, int]:
    """Return the stretch without spaces at its ends, and with whole words at both."""
    while first > 0 and text[first - 1].isalnum() and text[first : first + 1].isalnum():
        first -= 1
    while last < len(text) and text[last].isalnum() and text[last - 1 : last].isalnum():
        last += 1
    while first < last and text[first].isspace():
        first += 1
    while last > first and text[last - 1].isspace():
        last -= 1
    return first, last


def make_masker(secrets: Iterable[str], is_ordinary: Callable[[str], bool]) -> Callable[[str], str]:
    """Return what covers redacted words wherever they stand in a text.

    Whole secrets are covered whatever the case and the spaces between their words; single
    words of them too, unless they are ordinary ones that stand in many places.

    Args:
        secrets: the texts that were redacted.
        is_ordinary: told a word in small letters, says whether it gives nothing away.
    """
    patterns: dict[str, None] = {}
    for secret in secrets:
        words = _WORD.findall(secret)
        if words:
            patterns[r"[\W_]+".join(re.escape(word) for word in words)] = None
        for word in words:
            if len(word) > 1 and not is_ordinary(word.lower()):
                patterns[re.escape(word)] = None
    if not patterns:
        return lambda text: text
    longest_first = sorted(patterns, key=len, reverse=True)
    found = re.compile(rf"(?<![^\W_])(?:{'|'.join(longest_first)})(?![^\W_])", re.IGNORECASE)
    return lambda text: found.sub(lambda match: mask(match[0]), text)
