"""What the handler is shown: one moment of a session, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from voicelog.domain.entry import Entry
from voicelog.domain.place import Place


class State(StrEnum):
    """What the session is doing."""

    LOADING = "getting ready"
    LISTENING = "listening"
    SPEAKING = "speaking"
    PAUSED = "paused"
    LOST = "no microphone"
    FINISHING = "finishing"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteLine:
    """A note that was taken down, with the rows it made or changed.

    Attributes:
        number: the note's number.
        text: its words.
        entries: those rows in their new form.
        new_doubts: doubts that the note brought.
    """

    number: int
    text: str
    entries: tuple[Entry, ...]
    new_doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One moment of a session.

    Attributes:
        state: what the session is doing.
        log_name: the log's folder.
        microphone: where the sound comes from.
        accession: the present accession number, or None.
        volume: number and name of the present volume, or None.
        place: the present leaf and side, or None.
        notes: the latest notes, oldest first.
        level: how loud it is, root mean square, 0..1.
        is_in_note: whether a note is being spoken.
        words: what was understood of it so far, or "".
        waiting: how many notes are not understood yet.
        lag_s: how long the oldest of them has been waiting.
        recorded_s: how much sound this session has kept.
        free_bytes: room left on the disk.
        taken: how many notes this session has taken down.
        queried: how many of the log's entries are queried.
        question: what the handler is being asked, or "".
        message: what the handler should know just now, or "".
    """

    state: State
    log_name: str
    microphone: str = ""
    accession: str | None = None
    volume: str | None = None
    place: Place | None = None
    notes: tuple[NoteLine, ...] = ()
    level: float = 0.0
    is_in_note: bool = False
    words: str = ""
    waiting: int = 0
    lag_s: float = 0.0
    recorded_s: float = 0.0
    free_bytes: int = 0
    taken: int = 0
    queried: int = 0
    question: str = ""
    message: str = ""
