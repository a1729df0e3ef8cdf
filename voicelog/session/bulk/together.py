"""Hearing many recordings at once, and reading each as soon as its turn comes.

The order of reading is fixed before anything is heard; who finishes first changes nothing of
it. What was heard is on the disk before its turn comes, and this process holds no more of it
than one recording.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from dataclasses import replace

from voicelog.errors import ClusterError, RecogniserError, VoicelogError
from voicelog.session.bulk.backlog import Named
from voicelog.session.bulk.crew import Crew
from voicelog.session.bulk.outcome import BulkWatcher, Fate, RecordingOutcome, Tally
from voicelog.session.bulk.reading import find_unread, iter_read
from voicelog.session.bulk.task import HeardRecording, HearingTask
from voicelog.session.recordings import silent
from voicelog.session.scribe import Scribe
from voicelog.store.heard_ahead import HeardAhead
from voicelog.store.recording import Recording

_WAIT_S = 0.5
"""How long until somebody's wish to stop is noticed while there is nothing to do."""

_MOST_DEATHS = 3
"""A recording is given up when so many processes died over it, all but the first alone."""

_HOPELESS = 3
"""So many recordings in a row that each ended its process alone are not to blame."""

MakeTask = Callable[[Recording], HearingTask]
"""Returns what is to be done to hear a recording from its ``heard_to_s`` on."""


class HearingTogether:
    """Hears recordings with a crew and has the scribe take their notes down in order.

    Args:
        scribe: takes the notes down.
        crew: hears.
        make_task: says how.
        watcher: is told how it goes on.
        should_stop: asked now and then whether to leave it at what was heard.
    """

    def __init__(
        self,
        scribe: Scribe,
        crew: Crew,
        make_task: MakeTask,
        *,
        watcher: BulkWatcher,
        should_stop: Callable[[], bool] = lambda: False,
    ) -> None:
        self._scribe = scribe
        self._crew = crew
        self._make_task = make_task
        self._watcher = watcher
        self._should_stop = should_stop
        self._tally = Tally()
        self._sound_s = 0.0
        self._waiting: deque[Named] = deque()
        self._suspects: deque[Named] = deque()
        self._in_hand: dict[Future[HeardRecording], Named] = {}
        # By file: whether it can be read, or was given up.
        self._is_readable: dict[str, bool] = {}
        self._sends_sound = False
        self._deaths_in_a_row = 0

    def run(self, recordings: Sequence[Named]) -> Tally:
        """Hear and read recordings; return what it came to.

        Args:
            recordings: in the order in which they are to be read.

        Raises:
            RecogniserError: nobody can hear with this recogniser.
            ClusterError: the cluster was lost.
            StoreError: the log could not be written; what was stored so far is safe.
        """
        began_s = time.perf_counter()
        self._sort_out(recordings)
        reading = self._iter_reading(recordings)
        is_reading = False
        while not (stopping := self._should_stop()):
            self._hand_out()
            self._collect(timeout_s=0.0 if is_reading else _WAIT_S)
            has_read = next(reading, None)
            if has_read is None:
                break
            is_reading = has_read
        if stopping:
            self._wind_up()
            while next(reading, None):
                pass
        self._tally.took_s = time.perf_counter() - began_s
        self._tally.unheard = sum(one.recording.file not in self._is_readable for one in recordings)
        self._tally.is_stopped = stopping
        return self._tally

    def _sort_out(self, recordings: Sequence[Named]) -> None:
        """Find out which recordings were heard to their end by an earlier run."""
        for named in recordings:
            recording = named.recording
            heard = self._scribe.log.find_heard_ahead(recording.file)
            if heard is not None and heard.is_complete:
                self._is_readable[recording.file] = True
                self._tally.unread += 1
                self._say_heard(named, notes=len(find_unread(recording, heard)))
                continue
            from_s = max(recording.heard_to_s, heard.heard_to_s if heard else 0.0)
            self._sound_s += max(0.0, (recording.duration_s or 0.0) - from_s)
            self._waiting.append(replace(named, from_s=from_s))

    def _hand_out(self) -> None:
        """Keep everybody busy, with no more in hand than that takes."""
        while self._suspects or self._waiting:
            # One that may have ended a process is heard alone, so that it can't hurt others.
            most = 1 if self._suspects else 2 * self._crew.size
            if len(self._in_hand) >= most:
                return
            self._submit((self._suspects or self._waiting).popleft())

    def _submit(self, named: Named) -> None:
        task = self._make_task(replace(named.recording, heard_to_s=named.from_s))
        if self._sends_sound:
            task = replace(task, sound=task.path.read_bytes())
        try:
            future = self._crew.submit(task)
        except BrokenExecutor:
            # A process died meanwhile; whatever it was hearing comes back broken.
            (self._suspects if named.deaths else self._waiting).appendleft(named)
            self._recover()
        else:
            self._in_hand[future] = named

    def _collect(self, *, timeout_s: float) -> None:
        if not self._in_hand:
            return
        done, _ = wait(self._in_hand, timeout=timeout_s, return_when=FIRST_COMPLETED)
        if any(isinstance(_failure(future), BrokenExecutor) for future in done):
            self._recover()
            return
        for future in done:
            self._settle(self._in_hand.pop(future), future)

    def _settle(self, named: Named, future: Future[HeardRecording]) -> None:
        if future.cancelled():
            raise ClusterError(
                "The cluster is gone; what was heard is kept. Start it again, then the same "
                "command goes on where this one stopped, with or without it."
            )
        failure = _failure(future)
        if failure is None:
            self._deaths_in_a_row = 0
            self._keep(named, future.result())
        elif self._crew.is_deadly(failure):
            self._give_up_deadly(named)
        elif isinstance(failure, VoicelogError):
            raise failure
        else:
            self._give_up(
                named,
                f"{named.name} could not be heard ({type(failure).__name__}: {failure}); it is "
                "kept in the log unheard.",
            )

    def _recover(self) -> None:
        """Go on after a process died: nobody knows yet over which recording it did."""
        wait(self._in_hand)
        lost: list[Named] = []
        for future, named in list(self._in_hand.items()):
            del self._in_hand[future]
            if isinstance(_failure(future), BrokenExecutor):
                lost.append(named)
            else:
                self._settle(named, future)
        self._crew.recover()
        for named in lost:
            deaths = named.deaths + 1 if len(lost) == 1 else max(1, named.deaths)
            if deaths == _MOST_DEATHS:
                self._give_up_deadly(named)
            else:
                self._suspects.append(replace(named, deaths=deaths))

    def _give_up_deadly(self, named: Named) -> None:
        self._deaths_in_a_row += 1
        if self._deaths_in_a_row == _HOPELESS:
            raise RecogniserError(
                f"{_HOPELESS} recordings in a row ended the process that heard them, so the "
                "recogniser or the memory is to blame: see 'voicelog doctor', and try --jobs 1. "
                "What was heard is kept."
            )
        self._give_up(
            named,
            f"Hearing {named.name} ended the process that heard it, time after time; it is kept in "
            "the log unheard. There may be too little memory, or the recording is damaged.",
        )

    def _give_up(self, named: Named, sentence: str) -> None:
        self._is_readable[named.recording.file] = False
        self._watcher.settled(
            RecordingOutcome(name=named.name, fate=Fate.SET_ASIDE, sentence=sentence)
        )

    def _keep(self, named: Named, heard: HeardRecording) -> None:
        recording, log = named.recording, self._scribe.log
        if heard.is_out_of_reach:
            self._sends_sound = True
            self._waiting.appendleft(named)
            return
        for sentence in heard.damage:
            self._watcher.damaged(sentence)
        if heard.unreadable is not None:
            self._drop(named, heard.unreadable)
            return
        before = log.find_heard_ahead(recording.file)
        utterances = (*(before.utterances if before else ()), *heard.utterances)
        self._count(named, heard)
        if heard.is_complete and not utterances and recording.heard_to_s == 0:
            self._drop(named, str(silent(named.source)))
            return
        log.keep_heard(
            HeardAhead(
                recording=recording.file,
                heard_to_s=heard.heard_to_s,
                is_complete=heard.is_complete,
                utterances=utterances,
            )
        )
        if heard.is_complete:
            self._is_readable[recording.file] = True
            self._tally.heard += 1
            self._tally.unread += 1
            self._say_heard(named, notes=len(utterances))

    def _drop(self, named: Named, sentence: str) -> None:
        """Take back a recording in which nothing can be heard, unless it has notes."""
        self._is_readable[named.recording.file] = False
        if named.recording.heard_to_s == 0:
            self._scribe.log.forget_recording(named.recording.file)
        self._watcher.settled(
            RecordingOutcome(name=named.name, fate=Fate.UNUSABLE, sentence=sentence)
        )

    def _count(self, named: Named, heard: HeardRecording) -> None:
        end_s = heard.heard_to_s
        if heard.is_complete:
            end_s = max(end_s, named.recording.duration_s or 0.0)
        self._tally.sound_s += max(0.0, end_s - named.from_s)
        self._tally.engine_s += heard.engine_s
        self._watcher.reached(self._tally.sound_s, self._sound_s)

    def _say_heard(self, named: Named, *, notes: int) -> None:
        self._watcher.settled(
            RecordingOutcome(
                name=named.name,
                fate=Fate.HEARD,
                notes=notes,
                duration_s=named.recording.duration_s,
                resumed_at_s=named.from_s or None,
            )
        )

    def _wind_up(self) -> None:
        """Let everybody leave it at what they have heard, and keep that."""
        begun = {future: named for future, named in self._in_hand.items() if not future.cancel()}
        self._crew.stop()
        wait(begun)
        for future, named in begun.items():
            if not future.cancelled() and _failure(future) is None:
                self._keep(named, future.result())
        self._in_hand.clear()

    def _iter_reading(self, recordings: Sequence[Named]) -> Iterator[bool]:
        """Read recordings in order; yield whether something was read, or has to be waited for."""
        log = self._scribe.log
        for named in recordings:
            file = named.recording.file
            while file not in self._is_readable:
                yield False
            heard = log.find_heard_ahead(file)
            if not self._is_readable[file] or heard is None:
                continue
            for _ in iter_read(named.recording, heard, self._scribe, self._watcher):
                yield True
            log.finish_recording(file)
            self._tally.unread -= 1


def _failure(future: Future[HeardRecording]) -> BaseException | None:
    return None if future.cancelled() else future.exception()
