"""Hearing one recording of many: what a process or a machine elsewhere is asked to do.

What is asked and what is answered are plain values, so that it does not matter where it is done.
"""

from __future__ import annotations

import functools
import hashlib
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path

from voicelog.domain.utterance import Utterance
from voicelog.errors import UnreadableRecording
from voicelog.recognition.plan import Plan
from voicelog.recognition.recogniser import Heard, Recogniser, Segment
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import iter_heard
from voicelog.store.recording import Recording

should_stop: ContextVar[Callable[[], bool]] = ContextVar("should_stop")
"""Asked between two notes whether to leave it at what was heard; not set, nobody asks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HearingTask:
    """One recording to be heard.

    Attributes:
        plan: how to make the recogniser.
        segments: how sound is cut into notes.
        recording: the recording; what lies before its ``heard_to_s`` is passed over.
        path: where its sound is.
        sound: the bytes of its file, for who can't see ``path``; None to look there.
        is_elsewhere: whether ``path`` may be something else where the task is done.
    """

    plan: Plan
    segments: SegmentOptions
    recording: Recording
    path: Path
    sound: bytes | None = None
    is_elsewhere: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardRecording:
    """What was heard of a recording.

    Attributes:
        utterances: what was said, in order.
        heard_to_s: how far it was heard, in seconds from its beginning.
        is_complete: whether that is its end; False where hearing was stopped.
        engine_s: the time that the bare recogniser took.
        damage: sentences on what could not be decoded.
        unreadable: why nothing could be, or None.
        is_out_of_reach: the sound isn't there where the task was done.
    """

    utterances: tuple[Utterance, ...] = ()
    heard_to_s: float = 0.0
    is_complete: bool = False
    engine_s: float = 0.0
    damage: tuple[str, ...] = ()
    unreadable: str | None = None
    is_out_of_reach: bool = False


def hear(task: HearingTask) -> HeardRecording:
    """Hear a recording to its end, or until told to stop.

    Raises:
        RecogniserError: the recogniser can't be made here.
    """
    recogniser = TimedRecogniser(_keep_recogniser(task.plan))
    if task.sound is not None:
        with _in_memory(task.sound) as path:
            return _hear(task, path, recogniser)
    if task.is_elsewhere and not _is_same(task.path, task.recording):
        return HeardRecording(is_out_of_reach=True)
    return _hear(task, task.path, recogniser)


def _hear(task: HearingTask, path: Path, recogniser: TimedRecogniser) -> HeardRecording:
    is_stopped = should_stop.get(lambda: False)
    damage: list[str] = []
    utterances: list[Utterance] = []
    heard_to_s = task.recording.heard_to_s
    is_complete = True
    try:
        for piece in iter_heard(
            task.recording, path, recogniser, task.segments, on_damage=damage.append
        ):
            if piece.utterance is not None:
                utterances.append(piece.utterance)
            heard_to_s = piece.heard_to_s
            if is_stopped():
                is_complete = False
                break
    except UnreadableRecording as failure:
        return HeardRecording(unreadable=_name(task, path, str(failure)))
    return HeardRecording(
        utterances=tuple(utterances),
        heard_to_s=heard_to_s,
        is_complete=is_complete,
        engine_s=recogniser.seconds,
        damage=tuple(_name(task, path, sentence) for sentence in damage),
    )


@functools.lru_cache(maxsize=1)
def _keep_recogniser(plan: Plan) -> Recogniser:
    """Make a recogniser once in each process: loading one takes as long as hearing a note.

    Threads may share it: neither engine keeps anything between two notes.
    """
    return plan.build()


class TimedRecogniser:
    """A recogniser that counts the seconds it takes."""

    def __init__(self, recogniser: Recogniser) -> None:
        self._recogniser = recogniser
        self.engine = recogniser.engine
        self.model = recogniser.model
        self.seconds = 0.0

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment."""
        began_s = time.perf_counter()
        heard = self._recogniser.recognise(segment)
        self.seconds += time.perf_counter() - began_s
        return heard


def _is_same(path: Path, recording: Recording) -> bool:
    """Tell whether a file on this machine is the recording that is meant."""
    try:
        if path.stat().st_size != recording.size_bytes:
            return False
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == recording.sha256
    except OSError:
        return False


@contextmanager
def _in_memory(sound: bytes) -> Iterator[Path]:
    """Give sound a path without writing it to a disk that isn't the repository's."""
    descriptor = os.memfd_create("voicelog")
    try:
        with open(descriptor, "wb", closefd=False) as file:
            file.write(sound)
        yield Path(f"/proc/self/fd/{descriptor}")
    finally:
        os.close(descriptor)


def _name(task: HearingTask, path: Path, sentence: str) -> str:
    """Return a sentence that names the recording as the log does, wherever its sound was."""
    return sentence.replace(str(path), str(task.path))
