"""A second pair of ears for commands: short, fixed wordings that must not be misheard.

Free speech is understood best by a recogniser that expects anything; a command best by one
that expects little. So a small recogniser, held to a list of words, hears every note while
it is being spoken. Where it heard exactly a command and nothing else, a command it may be.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from voicelog.domain.note import Word
from voicelog.recognition.recogniser import Heard, Samples, Segment, make_heard, shift_words

LONGEST_COMMAND_S = 4.0
"""With its padding; a longer note is no command and nothing else."""


class WordStream(Protocol):
    """Anything that hears one note while it is being spoken."""

    def push(self, samples: Samples) -> str:
        """Take the next sound; return the words heard so far."""

    def finish(self) -> tuple[Word, ...]:
        """Return the words, with times from the first sound that was pushed."""


class StreamingRecogniser(Protocol):
    """A recogniser that can hear while somebody speaks."""

    @property
    def engine(self) -> str:
        """The engine's name."""

    @property
    def model(self) -> str:
        """Name and version of the model behind it."""

    def open_stream(self) -> WordStream:
        """Begin to hear a note."""


class CommandListener:
    """Hears notes as they are spoken, and knows which of them may be a command.

    Attributes:
        wordings: the commands, in lower case.
    """

    def __init__(self, recogniser: StreamingRecogniser, wordings: Iterable[str]) -> None:
        """Listen for these wordings.

        Args:
            recogniser: a small, fast one, held to these wordings and to words that may be
                said besides.
            wordings: the commands, in lower case.
        """
        self._recogniser = recogniser
        self.wordings = frozenset(wordings)

    @property
    def engine(self) -> str:
        """The engine that listens."""
        return self._recogniser.engine

    @property
    def model(self) -> str:
        """The model behind it."""
        return self._recogniser.model

    def open_stream(self) -> WordStream:
        """Begin to hear a note."""
        return self._recogniser.open_stream()

    def choose(self, words: Iterable[Word], *, start_s: float, end_s: float) -> Heard | None:
        """Return the command that a note is, or None where it is anything else.

        Args:
            words: what was heard of it, with times from its beginning.
            start_s: where in its recording the note begins.
            end_s: where it ends.
        """
        if end_s - start_s > LONGEST_COMMAND_S:
            return None
        heard = make_heard(shift_words(words, by_s=start_s))
        return heard if heard.text in self.wordings else None

    def find(self, segment: Segment) -> Heard | None:
        """Return the command that a note which was spoken already is, or None."""
        stream = self.open_stream()
        stream.push(segment.samples)
        return self.choose(stream.finish(), start_s=segment.start_s, end_s=segment.end_s)
