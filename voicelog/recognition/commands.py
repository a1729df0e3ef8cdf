"""A second pair of ears for commands: short, fixed wordings that must not be misheard.

Free speech is understood best by a recogniser that expects anything; a command best by one
that expects little. So short notes are given to a small recogniser as well, and where it
hears exactly a command and nothing else, a command it is.
"""

from __future__ import annotations

from collections.abc import Iterable

from voicelog.recognition.recogniser import Heard, Recogniser, Segment

LONGEST_COMMAND_S = 4.0
"""With its padding; a longer note is no command and nothing else."""


class CommandListener:
    """Finds notes that are a command and nothing else."""

    def __init__(self, recogniser: Recogniser, wordings: Iterable[str]) -> None:
        """Listen for these wordings.

        Args:
            recogniser: a small, fast one.
            wordings: the commands, in lower case.
        """
        self._recogniser = recogniser
        self._wordings = frozenset(wordings)

    @property
    def engine(self) -> str:
        """The engine that listens."""
        return self._recogniser.engine

    @property
    def model(self) -> str:
        """The model behind it."""
        return self._recogniser.model

    def find(self, segment: Segment) -> Heard | None:
        """Return the command that a note is, or None where it is anything else."""
        if segment.end_s - segment.start_s > LONGEST_COMMAND_S:
            return None
        heard = self._recogniser.recognise(segment)
        return heard if heard.text in self._wordings else None
