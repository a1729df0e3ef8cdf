"""Cutting out the words behind a value, and the words that nothing claimed."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.domain.note import Note, Span, locate_words
from voicelog.extraction.tokens import Token

_LEADING = frozenset(
    {
        "and", "but", "so", "also", "then", "is", "are", "was", "were", "it", "its", "'s", "has",
        "have", "with", "a", "an", "the", "there", "they", "that", "this", "which", "as", "some",
    }
)  # fmt: skip
_TRAILING = _LEADING | {"on", "in", "at", "of", "to", "by", "for", "from", "held", "or", "i", "we"}


class Wording:
    """Knows the words of one note and when they were said."""

    def __init__(self, note: Note, tokens: Sequence[Token]) -> None:
        self._note = note
        self._tokens = tokens
        self._word_spans = locate_words(note)

    def span(self, first: int, end: int) -> Span:
        """Return the span of the tokens from ``first`` up to ``end``."""
        start = self._tokens[first].first
        stop = self._tokens[end - 1].last
        start_s = end_s = confidence = None
        inside = [word for low, high, word in self._word_spans if low < stop and high > start]
        if inside:
            start_s, end_s = inside[0].start_s, inside[-1].end_s
            known = [word.confidence for word in inside if word.confidence is not None]
            confidence = sum(known) / len(known) if known else None
        return Span(
            note=self._note.number,
            text=self._note.text[start:stop],
            first=start,
            last=stop,
            start_s=start_s,
            end_s=end_s,
            confidence=confidence,
        )

    def trim(self, first: int, end: int) -> tuple[int, int]:
        """Drop grammatical words and punctuation at both ends of a stretch."""
        while first < end and (
            not self._tokens[first].is_word or self._tokens[first].norm in _LEADING
        ):
            first += 1
        while end > first and (
            not self._tokens[end - 1].is_word or self._tokens[end - 1].norm in _TRAILING
        ):
            end -= 1
        return first, end
