"""A recording from elsewhere becomes one of the log's own before anybody listens to it."""

from __future__ import annotations

import os
import uuid
from dataclasses import dataclass, field
from pathlib import Path

from voicelog.domain.speakers import Speakers
from voicelog.errors import UnreadableRecording
from voicelog.recognition.audio import RecordingFacts, probe_recording
from voicelog.session.listening import add_seconds
from voicelog.session.safekeeping import Copy, copy_recording, fingerprint_file, settle_copy
from voicelog.store.recording import Recording
from voicelog.store.sessions import Session, Way
from voicelog.store.writing import WritableLog, now_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """What the house knows of a recording beside what is in its file.

    Attributes:
        handler: who speaks, or None.
        speakers: who is recorded, and whether they were told.
    """

    handler: str | None = None
    speakers: Speakers = field(default_factory=Speakers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A recording that lies in the log.

    Attributes:
        recording: the recording.
        is_new: whether it was put there just now.
        damage: one sentence on what is wrong with the file, or None.
    """

    recording: Recording
    is_new: bool
    damage: str | None = None


def keep_recording(source: Path, log: WritableLog, provenance: Provenance) -> Kept:
    """Copy a recording into the log, unless the log holds the very same bytes already.

    Raises:
        UnreadableRecording: it is no recording, or can't be read; the log is as before.
        StoreError: the log could not be written.
    """
    if source.exists() and not source.is_file():
        raise UnreadableRecording(
            f"{source} is not a file; name the recordings themselves.", source=str(source)
        )
    if (known := _find_known(source, log)) is not None:
        return Kept(recording=known, is_new=False)
    # Looked at before it is copied, so that what is no recording never enters the log.
    facts = probe_recording(source)
    copy = copy_recording(source, audio_folder=log.audio_folder)
    known = log.find_recording(copy.sha256)
    if known is not None:
        copy.path.unlink()
        return Kept(recording=known, is_new=False, damage=facts.damage)
    recording = _settle(source, copy, facts, provenance.handler)
    log.add_recording(recording, session=_make_session(recording, provenance.speakers))
    return Kept(recording=recording, is_new=True, damage=facts.damage)


def _find_known(source: Path, log: WritableLog) -> Recording | None:
    try:
        fingerprint = fingerprint_file(source)
    except (OSError, ValueError):
        # Whoever looks into it next says what is wrong with it.
        return None
    return log.find_recording(fingerprint)


def _settle(source: Path, copy: Copy, facts: RecordingFacts, handler: str | None) -> Recording:
    original_name = os.fsencode(source.name).decode("utf-8", "replace")
    kept = settle_copy(copy, original_name=original_name)
    return Recording(
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
        handler=handler,
        session=str(uuid.uuid4()),
    )


def _make_session(recording: Recording, speakers: Speakers) -> Session:
    """Return the session that a recording brought from elsewhere stands for."""
    return Session(
        id=recording.session or "",
        way=Way.RECORDING,
        device=recording.original_name,
        handler=recording.handler,
        speakers=speakers,
        began_at=recording.recorded_at,
        ended_at=add_seconds(recording.recorded_at, recording.duration_s or 0.0),
    )
