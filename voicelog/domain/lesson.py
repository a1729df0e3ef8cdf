"""What a correction taught: words that a recogniser writes where others were said."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One note in which it was heard.

    Attributes:
        note: the note's number.
        text: the words around it, as they were heard.
    """

    note: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """One "sounds like" entry of a log.

    Attributes:
        number: its number in the log, from 1; 0 while it is only offered.
        heard: what the recogniser wrote.
        meant: what was said.
        field: the field whose correction taught it.
        examples: notes in which it was heard.
        from_note: the first note that is read with it.
        until_note: the last note that is read with it; None while it holds.
        by: who taught it.
        at: when, ISO 8601 with zone.
    """

    heard: str
    meant: str
    field: str
    examples: tuple[Example, ...] = ()
    number: int = 0
    from_note: int = 0
    until_note: int | None = None
    by: str = ""
    at: str = ""

    def holds_for(self, note: int) -> bool:
        """Whether a note is read with it."""
        return self.from_note <= note and (self.until_note is None or note <= self.until_note)
