"""From a recording to notes in the log, surviving an interruption at any moment."""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.domain.speakers import Speakers
from voicelog.errors import UnreadableRecording, UnusableInput
from voicelog.recognition.audio import RecordingFacts, probe_recording
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Recogniser, Segment, Stretch
from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.session.safekeeping import copy_recording, settle_copy
from voicelog.session.scribe import Scribe, Utterance
from voicelog.store.recording import Recording
from voicelog.store.sessions import Session, Way
from voicelog.store.writing import now_text


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
class Watcher:
    """Who wants to know how the work goes on.

    Attributes:
        heard: called with the second that has been reached and the length, if known.
        taken: called with each stored note and the entries it made or changed.
        damaged: called with a sentence when a recording is damaged but partly usable.
    """

    heard: Callable[[float, float | None], None] = lambda _reached_s, _duration_s: None
    taken: Callable[[Note, tuple[Entry, ...]], None] = lambda _note, _entries: None
    damaged: Callable[[str], None] = lambda _sentence: None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one recording.

    Attributes:
        notes: how many notes were added.
        duration_s: the recording's length, or None where unknown.
        already_known: the log held this very recording, heard to its end.
        resumed_at_s: where hearing went on after an interruption, or None.
    """

    notes: int
    duration_s: float | None = None
    already_known: bool = False
    resumed_at_s: float | None = None


def take_recording(
    source: Path, scribe: Scribe, hearing: Hearing, *, watcher: Watcher | None = None
) -> Outcome:
    """Copy a recording into the log, hear it, and store every note as it comes.

    Nothing is heard that is not already saved. After an interruption the same call
    goes on behind the last stored note; the same recording twice adds nothing.

    Raises:
        UnusableInput: it is not a recording, or nothing is said in it; the log is as before.
        StoreError: the log could not be written; notes stored so far are safe.
    """
    watcher = watcher or Watcher()
    if source.exists() and not source.is_file():
        raise UnreadableRecording(
            f"{source} is not a file; name the recordings themselves.", source=str(source)
        )
    # Looked at before it is copied, so that what is no recording never enters the log.
    facts = probe_recording(source)
    recording = _keep(source, scribe, facts, hearing)
    if recording.finished_at is not None:
        return Outcome(notes=0, duration_s=recording.duration_s, already_known=True)
    if facts.damage is not None:
        watcher.damaged(facts.damage)
    notes = hear_recording(recording, scribe, hearing, watcher=watcher)
    if notes == 0 and recording.heard_to_s == 0:
        scribe.log.forget_recording(recording.file)
        raise UnusableInput(
            f"No speech was heard in {source}; nothing was added to the log. "
            "If something is said in it, record it again nearer to the microphone.",
            source=str(source),
        )
    scribe.log.finish_recording(recording.file)
    return Outcome(
        notes=notes,
        duration_s=recording.duration_s,
        resumed_at_s=recording.heard_to_s or None,
    )


def hear_recording(
    recording: Recording, scribe: Scribe, hearing: Hearing, *, watcher: Watcher | None = None
) -> int:
    """Hear what is still unheard of a recording in the log, and store every note as it comes.

    Returns:
        how many notes were added.

    Raises:
        UnreadableRecording: nothing in its file can be decoded as sound.
        StoreError: the log could not be written; notes stored so far are safe.
    """
    watcher = watcher or Watcher()
    notes = 0
    for utterance, heard_to_s in _iter_utterances(recording, scribe, hearing, watcher):
        note, entries = scribe.take_down(utterance, heard_to_s=heard_to_s)
        watcher.taken(note, entries)
        notes += 1
    return notes


def _keep(source: Path, scribe: Scribe, facts: RecordingFacts, hearing: Hearing) -> Recording:
    log = scribe.log
    copy = copy_recording(source, audio_folder=log.audio_folder)
    known = log.find_recording(copy.sha256)
    if known is not None:
        copy.path.unlink()
        return known
    original_name = os.fsencode(source.name).decode("utf-8", "replace")
    kept = settle_copy(copy, original_name=original_name)
    recording = Recording(
        file=kept.name,
        uid=str(uuid.uuid4()),
        original_name=original_name,
        sha256=copy.sha256,
        size_bytes=copy.size_bytes,
        taken_at=now_text(),
        duration_s=facts.duration_s,
        sample_rate_hz=facts.sample_rate_hz,
        channels=facts.channels,
        codec=facts.codec,
        recorded_at=facts.recorded_at,
        handler=hearing.handler,
        session=str(uuid.uuid4()),
    )
    log.add_recording(recording, session=_make_session(recording, hearing.speakers))
    return recording


def _make_session(recording: Recording, speakers: Speakers) -> Session:
    """Return the session that a recording brought from elsewhere stands for."""
    return Session(
        id=recording.session or "",
        way=Way.RECORDING,
        device=recording.original_name,
        handler=recording.handler,
        speakers=speakers,
        began_at=recording.recorded_at,
        ended_at=_add_seconds(recording.recorded_at, recording.duration_s or 0.0),
    )


def _iter_utterances(
    recording: Recording, scribe: Scribe, hearing: Hearing, watcher: Watcher
) -> Iterator[tuple[Utterance, float]]:
    recogniser = hearing.recogniser
    for segment in _iter_unheard(recording, scribe, hearing, watcher):
        heard = recogniser.recognise(segment)
        if heard.text:
            utterance = Utterance(
                text=heard.text,
                words=heard.words,
                engine=recogniser.engine,
                model=recogniser.model,
                recording=recording.file,
                start_s=segment.start_s,
                end_s=segment.end_s,
                recorded_at=_add_seconds(recording.recorded_at, segment.start_s),
                handler=recording.handler,
                alternatives=heard.alternatives,
            )
            yield utterance, segment.end_s
        watcher.heard(segment.end_s, recording.duration_s)


def _iter_unheard(
    recording: Recording, scribe: Scribe, hearing: Hearing, watcher: Watcher
) -> Iterator[Segment]:
    path = scribe.log.audio_folder / recording.file
    for segment in iter_segments(path, hearing.segments, on_damage=watcher.damaged):
        unheard = find_unheard(segment, heard_to_s=recording.heard_to_s)
        if unheard is not None:
            yield unheard


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


def _add_seconds(recorded_at: str | None, seconds: float) -> str | None:
    if recorded_at is None:
        return None
    moment = datetime.fromisoformat(recorded_at) + timedelta(seconds=seconds)
    return moment.isoformat(timespec="seconds")
