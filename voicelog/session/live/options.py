"""What is agreed before a live session: how it goes, who watches, what comes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from voicelog.domain.finding import Finding
from voicelog.domain.speakers import Speakers
from voicelog.recognition.commands import CommandListener
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.live.closing import FindFindings
from voicelog.session.live.desk import Taken
from voicelog.session.live.loudspeaker import Speaking
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.view import View
from voicelog.store.log import Log


class Key(StrEnum):
    """What a key or a foot pedal stands for."""

    CHECK = "check this"
    PAUSE = "pause log"
    STRIKE = "strike that"


def _find_none(_log: Log, _accession: str | None, _volume: str | None) -> tuple[Finding, ...]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveOptions:
    """How a session goes.

    Attributes:
        segments: how speech is cut into notes.
        recorder: how sound is kept.
        speaking: tones and voice.
        find_findings: gives the findings that are asked about at "close volume".
        commands: hears notes while they are spoken and knows a command, or None.
        read_back: whether every row is read back, not only when asked for.
        handler: who speaks, or None.
        speakers: who is recorded, and whether they were told.
    """

    segments: SegmentOptions
    recorder: RecorderOptions
    speaking: Speaking
    find_findings: FindFindings = _find_none
    commands: CommandListener | None = None
    read_back: bool = False
    handler: str | None = None
    speakers: Speakers = field(default_factory=Speakers)


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveWatcher:
    """Who wants to know how the session goes; called in the thread that runs it.

    Attributes:
        show: called with each moment worth showing, about ten times a second.
        taken: called with each note taken down and how long after the end of its pause
            that was, in seconds; None for what came from a key.
        say: called with a sentence that should not be missed.
    """

    show: Callable[[View], None] = lambda _view: None
    taken: Callable[[Taken, float | None], None] = lambda _taken, _after_s: None
    say: Callable[[str], None] = lambda _sentence: None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of a session.

    Attributes:
        notes: how many notes were taken down.
        recorded_s: how much sound was kept.
        unread: how many saved notes were not understood; the next start hears them.
        failure: what ended the session before its time, or None.
    """

    notes: int
    recorded_s: float
    unread: int
    failure: Exception | None = None
