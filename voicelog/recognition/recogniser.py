"""What a recogniser takes and gives: a stretch of sound in, timed words out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol, runtime_checkable

import numpy as np
import numpy.typing as npt

from voicelog.domain.note import Word

SAMPLE_RATE_HZ = 16_000
"""Both engines and the speech detector were trained on sound at this rate."""

Samples = npt.NDArray[np.float32]
"""Mono sound at :data:`SAMPLE_RATE_HZ`: shape (n,), values in [-1, 1]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of a recording, in seconds from its start."""

    start_s: float
    end_s: float

    @property
    def duration_s(self) -> float:
        """How long the stretch lasts."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Segment:
    """The sound of one note, a little silence on either side included.

    Attributes:
        samples: mono sound, float32, shape (n,), 16 000 Hz, in [-1, 1].
        start_s: where it begins, in seconds from the start of the recording.
        end_s: where it ends.
        speech: where in the recording speech was detected; None if nobody has
            looked yet, in which case the recogniser looks itself.
    """

    samples: Samples
    start_s: float
    end_s: float
    speech: tuple[Stretch, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What a recogniser understood; empty when nothing was said.

    Attributes:
        words: the words, with times in the recording.
        text: the same words joined by single spaces.
        alternatives: other readings of the whole segment, best first.
    """

    words: tuple[Word, ...] = ()
    text: str = ""
    alternatives: tuple[str, ...] = ()


NOTHING = Heard()
"""What is heard where nobody spoke."""


class Recogniser(Protocol):
    """Anything that turns the sound of a note into words."""

    @property
    def engine(self) -> str:
        """The engine's name: "whisper", "vosk", ..."""

    @property
    def model(self) -> str:
        """Name and version of the model behind the engine."""

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment."""


class Opinion(Protocol):
    """What a recogniser makes of words for a note that it did not write itself."""

    def weigh(self, words: Sequence[str]) -> tuple[float, ...]:
        """Return how likely it finds each word after those before it, as natural logarithms."""


@runtime_checkable
class Opinionated(Protocol):
    """A recogniser that can be asked about other words for what it just heard."""

    def recognise_and_judge(self, segment: Segment) -> tuple[Heard, Opinion | None]:
        """Return the words said in the segment, and whom to ask about other words.

        Returns:
            None in place of the second where nothing was said, or the segment was too long to
            be heard in one go.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineOptions:
    """What a recogniser of a plug-in is made with; it takes of it what it can use.

    Attributes:
        hot_words: what it should be told to expect, the most important first.
        threads: processor threads; 0 leaves it to the recogniser.
        model_folder: where the repository keeps models of its own, or None.
    """

    hot_words: tuple[str, ...] = ()
    threads: int = 0
    model_folder: Path | None = None


def shift_words(words: Iterable[Word], *, by_s: float) -> list[Word]:
    """Return timed words that count from an earlier moment."""
    return [
        replace(
            word,
            start_s=round((word.start_s or 0.0) + by_s, 3),
            end_s=round((word.end_s or 0.0) + by_s, 3),
        )
        for word in words
    ]


def make_heard(words: Sequence[Word], *, alternatives: Sequence[str] = ()) -> Heard:
    """Return the words as one reading, without the alternatives that only repeat it."""
    text = " ".join(word.text for word in words)
    others = dict.fromkeys(" ".join(other.split()) for other in alternatives)
    return Heard(
        words=tuple(words),
        text=text,
        alternatives=tuple(other for other in others if other and other != text),
    )
