"""What became of each recording of many, and of all of them together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note


class Fate(StrEnum):
    """What became of a recording."""

    HEARD = "heard"
    KNOWN = "known"
    TWICE = "twice"
    UNUSABLE = "unusable"
    SET_ASIDE = "set aside"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordingOutcome:
    """What became of one recording.

    Attributes:
        name: the recording as the user named it.
        fate: what became of it.
        notes: how many notes were heard in it by this run.
        duration_s: its length, or None where unknown.
        resumed_at_s: where hearing went on after an interruption, or None.
        same_as: under which name the log holds it, or which other input it equals.
        sentence: what is to be said of one that is unusable or set aside.
    """

    name: str
    fate: Fate
    notes: int = 0
    duration_s: float | None = None
    resumed_at_s: float | None = None
    same_as: str = ""
    sentence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkWatcher:
    """Who wants to know how the work on many recordings goes on.

    Attributes:
        settled: called with what became of a recording, as soon as that is known.
        taken: called with each stored note and the entries it made or changed.
        damaged: called with a sentence when a recording is damaged but partly usable.
        reached: called with how many seconds of sound were heard, of how many.
    """

    settled: Callable[[RecordingOutcome], None] = lambda _outcome: None
    taken: Callable[[Note, tuple[Entry, ...]], None] = lambda _note, _entries: None
    damaged: Callable[[str], None] = lambda _sentence: None
    reached: Callable[[float, float], None] = lambda _heard_s, _of_s: None


@dataclass(slots=True, kw_only=True)
class Tally:
    """What the work came to; counted as it goes on.

    Attributes:
        heard: how many recordings were heard to their end.
        sound_s: how much sound was heard.
        engine_s: how long the bare recogniser took for it, all processes together.
        took_s: how long hearing and reading took, by the clock on the wall.
        unheard: how many recordings wait to be heard.
        unread: how many were heard and wait for their turn to be read.
        is_stopped: whether somebody stopped the work before its end.
    """

    heard: int = 0
    sound_s: float = 0.0
    engine_s: float = 0.0
    took_s: float = 0.0
    unheard: int = 0
    unread: int = 0
    is_stopped: bool = False

    @property
    def real_time_factor(self) -> float:
        """Return how long the work took for a second of sound, in seconds."""
        return self.took_s / self.sound_s if self.sound_s else 0.0

    def efficiency(self, jobs: int) -> float:
        """Return which part of the time of so many processes the bare recogniser took."""
        return self.engine_s / (jobs * self.took_s) if self.took_s else 0.0
