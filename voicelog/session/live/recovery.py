"""After a crash: what was said and saved is completed, put into the log, and heard."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from voicelog.errors import UnreadableRecording
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.listening import Hearing
from voicelog.session.live.growing_wav import mend_wav
from voicelog.session.live.journal import Event, Line, find_journals, read_journal
from voicelog.session.live.session_files import CODEC, fingerprint
from voicelog.session.live.session_record import find_unended_sessions, record_session
from voicelog.session.recordings import Watcher, hear_recording
from voicelog.session.scribe import Scribe
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog

logger = logging.getLogger(__name__)

OnDamage = Callable[[str], None]
"""Is told, in one sentence, about a file that can't be completed."""


def find_unfinished(log: Log) -> tuple[Recording, ...]:
    """Return the live recordings that were not heard to their end, oldest first.

    Some may not be in the log yet, or lack their length and fingerprint; see :func:`settle`.
    """
    known = {recording.file: recording for recording in log.iter_recordings()}
    with explained(log.folder):
        journaled = tuple(_iter_journaled(log.audio_folder))
    candidates = (known.get(recording.file, recording) for recording in journaled)
    return tuple(recording for recording in candidates if recording.finished_at is None)


def settle(
    log: WritableLog, *, on_damage: OnDamage = lambda _sentence: None
) -> tuple[Recording, ...]:
    """Complete the files and sessions that a crash left open, and put them into the log.

    No sound is changed and nothing is heard yet; this takes a moment, so that recording
    can begin before the old sound is heard. Done twice, it changes nothing.

    Args:
        log: the log, in which nobody records just now.
        on_damage: is told about each file that is damaged; it is left as it is.

    Returns:
        the recordings that hold sound which may not have been heard, oldest first.

    Raises:
        StoreError: a file or the log could not be written.
    """
    known = frozenset(recording.file for recording in log.iter_recordings())
    sessions = find_unended_sessions(log)
    for session in sessions:
        log.begin_session(session)
    waiting = []
    for unfinished in find_unfinished(log):
        recording = unfinished if unfinished.sha256 else _complete(unfinished, log, known=known)
        if recording is None:
            path = log.audio_folder / unfinished.file
            on_damage(f"{path} is damaged at its beginning; it was left as it is.")
        elif recording.duration_s:
            waiting.append(recording)
        else:
            log.finish_recording(recording.file)
    for session in sessions:
        record_session(log, session, is_over=True)
    return tuple(waiting)


def hear_unfinished(
    recordings: Iterable[Recording],
    scribe: Scribe,
    hearing: Hearing,
    *,
    watcher: Watcher | None = None,
) -> int:
    """Hear what was saved but not understood, and take it down; nothing twice.

    Args:
        recordings: what :func:`settle` returned.
        scribe: takes the notes down.
        hearing: how recordings are heard.
        watcher: who wants to know.

    Returns:
        how many notes were added.

    Raises:
        StoreError: the log could not be written; notes stored so far are safe.
    """
    watcher = watcher or Watcher()
    notes = 0
    for recording in recordings:
        try:
            notes += hear_recording(recording, scribe, hearing, watcher=watcher)
        except UnreadableRecording as failure:
            # Left unfinished, so that the next start tries again.
            watcher.damaged(str(failure))
            continue
        scribe.log.finish_recording(recording.file)
    return notes


def _complete(
    unfinished: Recording, log: WritableLog, *, known: frozenset[str]
) -> Recording | None:
    """Complete one file and its line in the log; None where the file is damaged."""
    path = log.audio_folder / unfinished.file
    with explained(log.folder):
        facts = mend_wav(path)
        if facts is None:
            return None
        recording = replace(
            unfinished,
            sha256=fingerprint(path),
            size_bytes=facts.size_bytes,
            duration_s=facts.duration_s,
        )
    if recording.file in known:
        log.seal_recording(recording)
    else:
        log.add_recording(recording)
    logger.info("Completed %s: %.1f s", recording.file, facts.duration_s)
    return recording


def _iter_journaled(folder: Path) -> Iterator[Recording]:
    for journal in find_journals(folder):
        session: str | None = None
        for line in read_journal(journal):
            if line.event is Event.SESSION:
                session = line.facts.get("uid")
            if line.event is not Event.FILE:
                continue
            recording = _parse_file(line, session=session)
            # A name without a file: the crash came between the two.
            if recording is not None and (folder / recording.file).is_file():
                yield recording


def _parse_file(line: Line, *, session: str | None) -> Recording | None:
    file, uid = line.facts.get("file"), line.facts.get("uid")
    if not (isinstance(file, str) and isinstance(uid, str) and Path(file).name == file):
        return None
    return Recording(
        file=file,
        uid=uid,
        original_name=file,
        sha256="",
        size_bytes=0,
        taken_at=line.at,
        sample_rate_hz=SAMPLE_RATE_HZ,
        channels=1,
        codec=CODEC,
        recorded_at=line.facts.get("recorded_at"),
        handler=line.facts.get("handler"),
        session=session,
    )
