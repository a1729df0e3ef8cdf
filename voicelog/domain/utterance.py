"""What was said or typed, before it is a note."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.domain.note import Word


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """What was said or typed, before it is taken down as a note and gets its number.

    The fields are those of :class:`voicelog.domain.note.Note`.
    """

    text: str
    words: tuple[Word, ...] = ()
    engine: str = "typed"
    model: str = ""
    recording: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    recorded_at: str | None = None
    handler: str | None = None
    alternatives: tuple[str, ...] = ()
    about: str | None = None
