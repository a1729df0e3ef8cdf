"""A recogniser is told what to expect when a note comes, not before."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.benchmarks.hearing.expecting import ExpectingRecogniser
from voicelog.recognition.recogniser import Heard, Segment

NOTE = Segment(samples=np.zeros(160, dtype=np.float32), start_s=0.0, end_s=0.01)


class Repeater:
    """Hears the words that it was told to expect."""

    engine = "repeater"
    model = "none"

    def expect(self, hot_words: Sequence[str]) -> None:
        self.expected = " ".join(hot_words)

    def recognise(self, segment: Segment) -> Heard:
        return Heard(text=self.expected if len(segment.samples) else "")


def test_every_note_is_heard_with_the_words_of_its_moment() -> None:
    """Words that came up between two notes are expected in the second."""
    words = ["leaf"]
    ear = ExpectingRecogniser(Repeater(), lambda: tuple(words))
    first = ear.recognise(NOTE).text
    words.append("tintype")
    assert (first, ear.recognise(NOTE).text) == ("leaf", "leaf tintype")


def test_it_goes_by_the_name_of_the_ear_behind_it() -> None:
    """A note says which engine heard it."""
    ear = ExpectingRecogniser(Repeater(), tuple)
    assert (ear.engine, ear.model) == ("repeater", "none")
