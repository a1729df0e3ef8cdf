"""What was heard: words, notes, and spans of a note.

A note is evidence. It is made once, when it is heard or typed, and never changed;
what it means is written down elsewhere, as entries, and can be worked out again.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """One word as the recogniser wrote it.

    Attributes:
        text: the word, in the recogniser's own spelling, without surrounding spaces.
        start_s: seconds from the start of the recording; None for typed words.
        end_s: seconds from the start of the recording; None for typed words.
        confidence: the recogniser's own figure, 0..1; None where it gives none.
    """

    text: str
    start_s: float | None = None
    end_s: float | None = None
    confidence: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One spoken or typed note: the stretch between two pauses, or one line.

    Attributes:
        number: the note's id in its log, from 1, in the order of taking down.
        uid: globally unique and never reused; entry ids are derived from it.
        text: exactly what the recogniser or typist wrote.
        words: the same words one by one; empty for typed notes.
        engine: "typed", "whisper", "vosk", ...
        model: name and version of the model behind the engine; "" for typed notes.
        recording: file name of the recording inside the log's ``audio/``, or None.
        start_s: where the note begins in the recording, in seconds.
        end_s: where it ends.
        recorded_at: wall clock at the note's beginning, ISO 8601 with zone, or None.
        handler: who spoke, or None.
        alternatives: other readings of the whole note by the same engine, best first.
        about: id of the entry that the program had asked about when this was said, or None.
    """

    number: int
    uid: str
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of one note: the words behind a value.

    Attributes:
        note: the note's number.
        text: the words as they stand in the note.
        first: index of the first character in the note's text.
        last: index after the last character.
        start_s: where the first word begins in the recording; None for typed notes.
        end_s: where the last word ends.
        confidence: the mean confidence of the words, or None where none is known.
        likelihood: how likely the value read from these words is right, 0..1, as calibrated
            (:mod:`voicelog.extraction.doubting`); None where nobody had to hear them.
        otherwise: what another reading of the note has in their place, or None.
    """

    note: int
    text: str
    first: int
    last: int
    start_s: float | None = None
    end_s: float | None = None
    confidence: float | None = None
    likelihood: float | None = None
    otherwise: str | None = None


def locate_words(note: Note) -> list[tuple[int, int, Word]]:
    """Return the words of a note with where each begins and ends in its text."""
    located: list[tuple[int, int, Word]] = []
    cursor = 0
    for word in note.words:
        at = note.text.find(word.text, cursor)
        if at < 0:
            continue
        located.append((at, at + len(word.text), word))
        cursor = at + len(word.text)
    return located
