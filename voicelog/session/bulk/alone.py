"""Hearing recordings one after the other in this process, each note read as it is heard."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from voicelog.errors import UnreadableRecording
from voicelog.session.bulk.backlog import Named
from voicelog.session.bulk.outcome import BulkWatcher, Fate, RecordingOutcome, Tally
from voicelog.session.bulk.reading import iter_read
from voicelog.session.bulk.task import TimedRecogniser
from voicelog.session.listening import Hearing
from voicelog.session.recordings import Watcher, hear_recording, silent
from voicelog.session.scribe import Scribe


def hear_alone(
    recordings: Sequence[Named],
    scribe: Scribe,
    hearing: Hearing,
    *,
    watcher: BulkWatcher,
    should_stop: Callable[[], bool] = lambda: False,
) -> Tally:
    """Hear and read recordings in their order; return what it came to.

    Raises:
        StoreError: the log could not be written; notes stored so far are safe.
    """
    began_s = time.perf_counter()
    tally = Tally()
    of_s = sum(one.recording.duration_s or 0.0 for one in recordings)
    for done, named in enumerate(recordings):
        if should_stop():
            tally.is_stopped = True
            tally.unheard = len(recordings) - done
            break
        _Turn(named, scribe, watcher, tally, of_s=of_s).take(hearing, should_stop)
    tally.took_s = time.perf_counter() - began_s
    return tally


class _Turn:
    """One recording's turn."""

    def __init__(
        self, named: Named, scribe: Scribe, watcher: BulkWatcher, tally: Tally, *, of_s: float
    ) -> None:
        self._named = named
        self._scribe = scribe
        self._watcher = watcher
        self._tally = tally
        self._of_s = of_s
        self._before_s = tally.sound_s

    def take(self, hearing: Hearing, should_stop: Callable[[], bool]) -> None:
        """Read what was heard of the recording before, and hear the rest."""
        recording, log = self._named.recording, self._scribe.log
        ahead = log.find_heard_ahead(recording.file)
        notes = 0
        if ahead is not None:
            notes = sum(1 for _ in iter_read(recording, ahead, self._scribe, self._watcher))
        from_s = max(recording.heard_to_s, ahead.heard_to_s if ahead else 0.0)
        if ahead is None or not ahead.is_complete:
            recogniser = TimedRecogniser(hearing.recogniser)
            try:
                notes += hear_recording(
                    replace(recording, heard_to_s=from_s),
                    self._scribe,
                    replace(hearing, recogniser=recogniser),
                    watcher=Watcher(
                        heard=self._reach, taken=self._watcher.taken, damaged=self._watcher.damaged
                    ),
                    should_stop=should_stop,
                )
            except UnreadableRecording as failure:
                self._drop(str(failure))
                return
            finally:
                self._tally.engine_s += recogniser.seconds
            if should_stop():
                return
            self._reach(recording.duration_s or 0.0, None)
            if notes == 0 and recording.heard_to_s == 0:
                self._drop(str(silent(self._named.source)))
                return
        log.finish_recording(recording.file)
        self._tally.heard += 1
        self._watcher.settled(
            RecordingOutcome(
                name=self._named.name,
                fate=Fate.HEARD,
                notes=notes,
                duration_s=recording.duration_s,
                resumed_at_s=from_s or None,
            )
        )

    def _reach(self, reached_s: float, _duration_s: float | None) -> None:
        """Count the sound up to a second of this recording."""
        heard_s = max(0.0, reached_s - self._named.recording.heard_to_s)
        self._tally.sound_s = max(self._tally.sound_s, self._before_s + heard_s)
        self._watcher.reached(self._tally.sound_s, self._of_s)

    def _drop(self, sentence: str) -> None:
        """Take back a recording in which nothing can be heard, unless it has notes."""
        if self._named.recording.heard_to_s == 0:
            self._scribe.log.forget_recording(self._named.recording.file)
        self._watcher.settled(
            RecordingOutcome(name=self._named.name, fate=Fate.UNUSABLE, sentence=sentence)
        )
