"""Taking recordings into the log before any of them is heard."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import UnusableInput
from voicelog.session.bulk.outcome import BulkWatcher, Fate, RecordingOutcome
from voicelog.session.keeping import Provenance, keep_recording
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.sessions import Way
from voicelog.store.writing import WritableLog


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A recording of the log that is to be heard.

    Attributes:
        recording: the recording.
        name: its file's name as the user knows it.
        source: where the user has it.
        from_s: how far it was heard before, in seconds; it may not be read as far.
        deaths: how often a process died that was hearing it alone; at least one where that
            was hearing others too, so that nobody knows over which it died.
    """

    recording: Recording
    name: str
    source: str
    from_s: float = 0.0
    deaths: int = 0


def take_in(
    sources: Iterable[Path],
    log: WritableLog,
    provenance: Provenance,
    *,
    watcher: BulkWatcher,
    should_stop: Callable[[], bool] = lambda: False,
) -> tuple[Named, ...]:
    """Copy recordings into the log and return those that are not heard to their end.

    What can't be used, what the log holds already, and what is named twice is said to the
    watcher and left out.

    Raises:
        StoreError: the log could not be written; what was copied stays and is found again.
    """
    there: dict[str, Named] = {}
    for source in sources:
        if should_stop():
            break
        try:
            kept = keep_recording(source, log, provenance)
        except UnusableInput as failure:
            watcher.settled(
                RecordingOutcome(name=source.name, fate=Fate.UNUSABLE, sentence=str(failure))
            )
            continue
        recording = kept.recording
        if recording.file in there:
            other = there[recording.file].name
            watcher.settled(RecordingOutcome(name=source.name, fate=Fate.TWICE, same_as=other))
        elif recording.finished_at is not None:
            watcher.settled(
                RecordingOutcome(name=source.name, fate=Fate.KNOWN, same_as=recording.original_name)
            )
        else:
            if kept.damage is not None:
                watcher.damaged(kept.damage)
            there[recording.file] = Named(recording=recording, name=source.name, source=str(source))
    return tuple(there.values())


def find_unfinished(log: Log) -> tuple[Named, ...]:
    """Return the recordings that earlier runs took in and did not finish.

    Those of live sessions are left to the next live session.
    """
    live = {session.id for session in log.iter_sessions() if session.way is Way.LIVE}
    return tuple(
        Named(recording=recording, name=recording.original_name, source=recording.original_name)
        for recording in log.iter_recordings()
        if recording.finished_at is None
        and recording.removed_at is None
        and recording.session not in live
        and (log.audio_folder / recording.file).exists()
    )
