"""A recogniser that is told, before each note, which words to expect."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from voicelog.recognition.recogniser import Heard, Recogniser, Segment

HotWords = tuple[str, ...]
"""Words that a recogniser should expect, the most important first."""


class OpenEar(Recogniser, Protocol):
    """A recogniser that writes any word, and can be told which are likely."""

    def expect(self, hot_words: Sequence[str]) -> None:
        """From now on expect these words, the most important first, and no others."""


class ExpectingRecogniser:
    """An open ear that asks, before each note, what to expect.

    Args:
        ear: hears.
        words: gives the words to expect now; it may be called in any thread.
    """

    def __init__(self, ear: OpenEar, words: Callable[[], HotWords]) -> None:
        self._ear = ear
        self._words = words
        self.engine = ear.engine
        self.model = ear.model

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment."""
        self._ear.expect(self._words())
        return self._ear.recognise(segment)
