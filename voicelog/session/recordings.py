"""From a recording to notes in the log, surviving an interruption at any moment."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.errors import UnusableInput
from voicelog.session.keeping import Provenance, keep_recording
from voicelog.session.listening import Hearing, iter_heard
from voicelog.session.scribe import Scribe
from voicelog.store.recording import Recording


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
    kept = keep_recording(
        source, scribe.log, Provenance(handler=hearing.handler, speakers=hearing.speakers)
    )
    recording = kept.recording
    if recording.finished_at is not None:
        return Outcome(notes=0, duration_s=recording.duration_s, already_known=True)
    if kept.damage is not None:
        watcher.damaged(kept.damage)
    notes = hear_recording(recording, scribe, hearing, watcher=watcher)
    if notes == 0 and recording.heard_to_s == 0:
        scribe.log.forget_recording(recording.file)
        raise silent(str(source))
    scribe.log.finish_recording(recording.file)
    return Outcome(
        notes=notes,
        duration_s=recording.duration_s,
        resumed_at_s=recording.heard_to_s or None,
    )


def silent(source: str) -> UnusableInput:
    """Return what there is to say of a recording in which nobody speaks."""
    return UnusableInput(
        f"No speech was heard in {source}; nothing was added to the log. "
        "If something is said in it, record it again nearer to the microphone.",
        source=source,
    )


def hear_recording(
    recording: Recording,
    scribe: Scribe,
    hearing: Hearing,
    *,
    watcher: Watcher | None = None,
    should_stop: Callable[[], bool] = lambda: False,
) -> int:
    """Hear what is still unheard of a recording in the log, and store every note as it comes.

    Args:
        recording: the recording.
        scribe: takes the notes down.
        hearing: how it is heard.
        watcher: is told how it goes on.
        should_stop: asked after each note whether to leave it at that.

    Returns:
        how many notes were added.

    Raises:
        UnreadableRecording: nothing in its file can be decoded as sound.
        StoreError: the log could not be written; notes stored so far are safe.
    """
    watcher = watcher or Watcher()
    notes = 0
    for piece in iter_heard(
        recording,
        scribe.log.audio_folder / recording.file,
        hearing.recogniser,
        hearing.segments,
        on_damage=watcher.damaged,
    ):
        if piece.utterance is not None:
            note, entries = scribe.take_down(piece.utterance, heard_to_s=piece.heard_to_s)
            watcher.taken(note, entries)
            notes += 1
        watcher.heard(piece.heard_to_s, recording.duration_s)
        if should_stop():
            break
    return notes
