"""The files of one live session: begun, filled, sealed, each step in the journal first."""

from __future__ import annotations

import hashlib
import os
import shutil
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from voicelog.domain.speakers import Speakers
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.live.clocks import Clocks
from voicelog.session.live.growing_wav import GrowingWav, Sync
from voicelog.session.live.journal import Event, Journal
from voicelog.session.live.sources import Pcm
from voicelog.store.recording import Recording
from voicelog.store.sessions import Session, Way
from voicelog.store.writing import now_text

CODEC = "pcm_s16le"
_READ_BYTES = 1 << 20


def _free_bytes(folder: Path) -> int:
    return shutil.disk_usage(folder).free


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What a recorder takes from the machine; tests put their own in place.

    Attributes:
        clocks: where the time comes from.
        free_bytes: tells how much room a folder's disk has.
        sync: brings what was written to the disk.
    """

    clocks: Clocks = field(default_factory=Clocks)
    free_bytes: Callable[[Path], int] = _free_bytes
    sync: Sync = os.fsync


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """What is known about a session before it begins.

    Attributes:
        source: what the sound comes from, in a person's words.
        handler: who works, or None.
        speakers: who is recorded, and whether they were told.
    """

    source: str = ""
    handler: str | None = None
    speakers: Speakers = field(default_factory=Speakers)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecorderWatcher:
    """Who wants to know what a recorder does; called in the thread that calls ``write``.

    Attributes:
        started: called with the session before anything is recorded; for
            ``WritableLog.begin_session``.
        begun: called with each new file before sound is in it; put it into the log with
            ``WritableLog.add_recording`` before any note of it.
        sealed: called when a file is complete, now with fingerprint and length; for
            ``WritableLog.seal_recording``.
        gap: called with the cause and the length of what is missing, in seconds.
        disk_low: called once, with the bytes left, when the disk is nearly full.
    """

    started: Callable[[Session], None] = lambda _session: None
    begun: Callable[[Recording], None] = lambda _recording: None
    sealed: Callable[[Recording], None] = lambda _recording: None
    gap: Callable[[str, float], None] = lambda _why, _lost_s: None
    disk_low: Callable[[int], None] = lambda _free_bytes: None


class SessionFiles:
    """At most one file that grows, and the sealed ones before it.

    Attributes:
        session: the session, as the log keeps it.
    """

    def __init__(
        self,
        folder: Path,
        *,
        occasion: Occasion,
        watcher: RecorderWatcher,
        machine: Machine,
    ) -> None:
        """Begin the session's journal.

        Raises:
            OSError: it can't be written.
            StoreError: the watcher could not put the session into the log.
        """
        self._folder = folder
        self._watcher = watcher
        self._machine = machine
        began_at = machine.clocks.wall()
        self._journal: Journal | None = Journal.begin(folder, at=began_at, sync=machine.sync)
        self.session = Session(
            id=str(uuid.uuid4()),
            way=Way.LIVE,
            device=occasion.source,
            journal=self._journal.session,
            handler=occasion.handler,
            speakers=occasion.speakers,
            began_at=began_at.isoformat(timespec="milliseconds"),
        )
        self._wav: GrowingWav | None = None
        self._recording: Recording | None = None
        self._count = 0
        self._sealed_s = 0.0
        self.note(
            Event.SESSION,
            uid=self.session.id,
            source=occasion.source,
            handler=occasion.handler,
            people=list(occasion.speakers.people),
            told=occasion.speakers.told,
        )
        watcher.started(self.session)

    @property
    def current_file(self) -> str | None:
        """The file that grows just now, or None."""
        return self._recording.file if self._recording else None

    @property
    def current_s(self) -> float:
        """How long the file that grows is by now."""
        return self._wav.duration_s if self._wav else 0.0

    @property
    def unsynced_s(self) -> float:
        """How much of it a power cut would take."""
        return self._wav.unsynced_s if self._wav else 0.0

    @property
    def total_s(self) -> float:
        """How much sound the session has kept."""
        return self._sealed_s + self.current_s

    def note(self, event: Event, **facts: Any) -> None:
        """Write a line into the journal; nothing once it is closed."""
        if self._journal is not None:
            self._journal.write(event, at=self._machine.clocks.wall(), **facts)

    def append(self, samples: Pcm, *, at: float) -> tuple[str, float]:
        """Save sound said ``at`` (monotonic), and return the file and second where it lies.

        Raises:
            OSError: the disk refused it.
            StoreError: the watcher could not put a new file into the log.
        """
        wav = self._wav or self._begin(at=at)
        start_s = wav.duration_s
        wav.append(samples)
        return wav.path.name, start_s

    def sync(self) -> None:
        """Bring everything to the disk."""
        if self._wav is not None:
            self._wav.sync()

    def cut_to(self, seconds: float) -> None:
        """Forget what the growing file holds behind this second."""
        if self._wav is not None:
            self._wav.cut_to(min(self._wav.samples, round(seconds * SAMPLE_RATE_HZ)))

    def seal(self) -> None:
        """Complete the growing file, if there is one; the next sound begins another."""
        wav, recording = self._wav, self._recording
        if wav is None or recording is None:
            return
        self._wav = self._recording = None
        facts = wav.close()
        self._sealed_s += facts.duration_s
        sealed = replace(
            recording,
            sha256=fingerprint(wav.path),
            size_bytes=facts.size_bytes,
            duration_s=facts.duration_s,
        )
        self.note(Event.SEALED, file=sealed.file, sha256=sealed.sha256, duration_s=facts.duration_s)
        self._watcher.sealed(sealed)

    def close(self) -> None:
        """Seal what grows and close the journal; harmless when that was done before."""
        if self._journal is None:
            return
        try:
            self.seal()
            self.note(Event.CLOSED, recorded_s=round(self._sealed_s, 3))
        finally:
            journal, self._journal = self._journal, None
            journal.close()

    def _begin(self, *, at: float) -> GrowingWav:
        self._count += 1
        clocks = self._machine.clocks
        # The sound is a little older than this moment.
        began_at = clocks.wall() - timedelta(seconds=clocks.monotonic() - at)
        path = self._folder / f"{self.session.journal}-{self._count:03}.wav"
        recording = Recording(
            file=path.name,
            uid=str(uuid.uuid4()),
            original_name=path.name,
            sha256="",
            size_bytes=0,
            taken_at=now_text(),
            sample_rate_hz=SAMPLE_RATE_HZ,
            channels=1,
            codec=CODEC,
            recorded_at=began_at.isoformat(timespec="milliseconds"),
            handler=self.session.handler,
            session=self.session.id,
        )
        # Named in the journal before it exists, so that no file is ever without a name there.
        self.note(
            Event.FILE,
            file=recording.file,
            uid=recording.uid,
            recorded_at=recording.recorded_at,
            handler=recording.handler,
        )
        self._wav = GrowingWav.create(path, began_at=began_at, sync=self._machine.sync)
        self._recording = recording
        self._watcher.begun(recording)
        return self._wav


def fingerprint(path: Path) -> str:
    """Return the SHA-256 of a file, in hexadecimal."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while content := file.read(_READ_BYTES):
            digest.update(content)
    return digest.hexdigest()
