"""Hearing a recording: the sound that nobody has heard yet becomes utterances, one by one.

Knows nothing of logs, so that it can be done anywhere: in this process, in another one, on
another machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path

from voicelog.domain.speakers import Speakers
from voicelog.domain.utterance import Utterance
from voicelog.recognition.recogniser import (
    SAMPLE_RATE_HZ,
    Heard,
    Recogniser,
    Segment,
    Stretch,
)
from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.store.recording import Recording

OnDamage = Callable[[str], None]
"""Is told, in one sentence, that a recording is damaged but partly usable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """How recordings are heard.

    Attributes:
        recogniser: turns sound into words.
        segments: how sound is cut into notes.
        handler: who speaks, or None.
        speakers: who is recorded, and whether they were told.
        remarks: sentences on the recogniser that a person should be told once.
    """

    recogniser: Recogniser
    segments: SegmentOptions
    handler: str | None = None
    speakers: Speakers = field(default_factory=Speakers)
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One stretch of a recording between two pauses, heard.

    Attributes:
        utterance: what was said, or None where nothing was understood.
        heard_to_s: how far the recording is heard with it, in seconds.
    """

    utterance: Utterance | None
    heard_to_s: float


def iter_heard(
    recording: Recording,
    sound: Path,
    recogniser: Recogniser,
    segments: SegmentOptions,
    *,
    on_damage: OnDamage | None = None,
) -> Iterator[Piece]:
    """Hear what is still unheard of a recording.

    Args:
        recording: the recording; what lies before its ``heard_to_s`` is passed over.
        sound: the file with its sound.
        recogniser: turns sound into words.
        segments: how sound is cut into notes.
        on_damage: is told if part of the file can't be decoded.

    Raises:
        UnreadableRecording: nothing in the file can be decoded as sound.
    """
    for segment in iter_segments(sound, segments, on_damage=on_damage):
        unheard = find_unheard(segment, heard_to_s=recording.heard_to_s)
        if unheard is not None:
            heard = recogniser.recognise(unheard)
            yield Piece(
                utterance=_make_utterance(recording, unheard, heard, recogniser)
                if heard.text
                else None,
                heard_to_s=unheard.end_s,
            )


def find_unheard(segment: Segment, *, heard_to_s: float) -> Segment | None:
    """Return the part of a segment behind what was heard before, or None.

    Should sound be cut differently this time, its words are neither heard twice nor lost.
    """
    if segment.start_s >= heard_to_s:
        return segment
    if segment.speech is None:
        has_speech = segment.end_s > heard_to_s
    else:
        has_speech = any(part.end_s > heard_to_s for part in segment.speech)
    if not has_speech:
        return None
    heard = round((heard_to_s - segment.start_s) * SAMPLE_RATE_HZ)
    return replace(
        segment,
        samples=segment.samples[heard:],
        start_s=heard_to_s,
        speech=segment.speech
        and tuple(
            Stretch(start_s=max(part.start_s, heard_to_s), end_s=part.end_s)
            for part in segment.speech
            if part.end_s > heard_to_s
        ),
    )


def add_seconds(recorded_at: str | None, seconds: float) -> str | None:
    """Return a wall clock that many seconds later, to the second; None where none is known."""
    if recorded_at is None:
        return None
    moment = datetime.fromisoformat(recorded_at) + timedelta(seconds=seconds)
    return moment.isoformat(timespec="seconds")


def _make_utterance(
    recording: Recording, segment: Segment, heard: Heard, recogniser: Recogniser
) -> Utterance:
    return Utterance(
        text=heard.text,
        words=heard.words,
        engine=recogniser.engine,
        model=recogniser.model,
        recording=recording.file,
        start_s=segment.start_s,
        end_s=segment.end_s,
        recorded_at=add_seconds(recording.recorded_at, segment.start_s),
        handler=recording.handler,
        alternatives=heard.alternatives,
    )
