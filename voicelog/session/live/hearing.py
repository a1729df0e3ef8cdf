"""The recogniser at work beside the microphone, one step ahead where it can be.

A note is decoded while its closing pause is still running out: by the time it is known to
be over, its words are usually there. If the handler goes on speaking instead, that work
was in vain and nothing else has happened.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from voicelog.recognition.recogniser import Heard, Recogniser, Segment
from voicelog.session.live.along import HearingAlong
from voicelog.session.live.backlog import Backlog, Marker, SpokenNote

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardNote:
    """A note with its words.

    Attributes:
        note: the note.
        heard: its words; None when the recogniser failed twice.
        engine: the recogniser's engine.
        model: its model.
        decoding_s: how long the recogniser worked on it.
        failure: what went wrong, or None.
    """

    note: SpokenNote
    heard: Heard | None
    engine: str
    model: str
    decoding_s: float
    failure: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Answer:
    """What was heard, and by which recogniser."""

    heard: Heard
    engine: str
    model: str
    decoding_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ahead:
    """What was decoded before it was known that the note is over."""

    key: tuple[str | None, float, float]
    answer: _Answer


class HearingThread(threading.Thread):
    """Hears note after note, in order; a recogniser that fails is replaced by a fresh one."""

    def __init__(
        self,
        make_recogniser: Callable[[], Recogniser],
        backlog: Backlog,
        *,
        along: HearingAlong | None = None,
        on_ready: Callable[[], None],
        on_heard: Callable[[HeardNote], None],
    ) -> None:
        """Prepare to hear.

        Args:
            make_recogniser: makes a recogniser; called in this thread.
            backlog: what waits.
            along: has heard each note while it was spoken, and knows a command.
            on_ready: is told when the recogniser has been loaded.
            on_heard: is told every note, in order. Both are called in this thread.
        """
        super().__init__(name="hearing", daemon=True)
        self._make_recogniser = make_recogniser
        self._backlog = backlog
        self._along = along
        self._on_ready = on_ready
        self._on_heard = on_heard
        self._wake = threading.Condition()
        self._has_news = False
        self._is_finishing = False
        self._foreseen: SpokenNote | None = None
        self._ahead: _Ahead | None = None
        self._recogniser: Recogniser | None = None
        self._failure: str | None = None
        self._working_on: SpokenNote | None = None
        self.failures = 0
        self.decoded_in_vain = 0

    def foresee(self, note: SpokenNote) -> None:
        """Decode a note that will be over if nothing more is said, when there is time."""
        self._tell(foreseen=note)

    def forget_foreseen(self) -> None:
        """The handler went on speaking; what was foreseen won't come."""
        with self._wake:
            self._foreseen = None

    def take(self, item: SpokenNote | Marker) -> None:
        """Hear a note that is over, or pass a marker on in its turn; returns at once."""
        self._backlog.put(item)
        self._tell(foreseen=None)

    def finish(self) -> None:
        """Hear what still waits, then end."""
        with self._wake:
            self._is_finishing = True
            self._wake.notify()

    @property
    def waiting(self) -> int:
        """How many notes are not heard yet, the one being heard included."""
        return len(self._backlog) + (self._working_on is not None)

    def lag_s(self, now: float) -> float:
        """Return for how long the oldest unheard note has been waiting."""
        working_on = self._working_on
        closed_at = working_on.closed_at if working_on else self._backlog.oldest_closed_at()
        return max(0.0, now - closed_at) if closed_at is not None else 0.0

    def run(self) -> None:
        """Work until :meth:`finish` was called and nothing waits."""
        self._load()
        self._on_ready()
        while True:
            item = self._backlog.take()
            if isinstance(item, Marker):
                item.tell()
            elif item is not None:
                self._working_on = item
                self._on_heard(self._hear(item))
                self._working_on = None
            elif not self._hear_ahead() and not self._wait():
                return

    def _tell(self, *, foreseen: SpokenNote | None) -> None:
        with self._wake:
            self._foreseen = foreseen
            self._has_news = True
            self._wake.notify()

    def _wait(self) -> bool:
        """Wait for something to do; False once there will never be anything again."""
        with self._wake:
            if not self._has_news and not self._is_finishing:
                self._wake.wait()
            if self._is_finishing and not len(self._backlog):
                return False
            self._has_news = False
        return True

    def _hear_ahead(self) -> bool:
        with self._wake:
            note, self._foreseen = self._foreseen, None
        if note is None or (self._ahead is not None and self._ahead.key == note.key):
            return False
        self._drop_ahead()
        answer = self._try(note.segment)
        if answer is not None:
            self._ahead = _Ahead(key=note.key, answer=answer)
        return True

    def _hear(self, note: SpokenNote) -> HeardNote:
        ahead = self._ahead
        if ahead is not None and ahead.key == note.key:
            self._ahead = None
            return self._make_heard(note, ahead.answer)
        self._drop_ahead()
        # Once more with a fresh recogniser; a second failure is the note's fault.
        return self._make_heard(note, self._try(note.segment) or self._try(note.segment))

    def _drop_ahead(self) -> None:
        if self._ahead is not None:
            self.decoded_in_vain += 1
            self._ahead = None

    def _make_heard(self, note: SpokenNote, answer: _Answer | None) -> HeardNote:
        if self._along is not None and answer is not None:
            command = self._along.find_command(note.key, answer.heard)
            if command is not None:
                answer = replace(
                    answer, heard=command, engine=self._along.engine, model=self._along.model
                )
        return HeardNote(
            note=note,
            heard=answer.heard if answer else None,
            engine=answer.engine if answer else "",
            model=answer.model if answer else "",
            decoding_s=answer.decoding_s if answer else 0.0,
            failure=None if answer else self._failure,
        )

    def _load(self) -> Recogniser | None:
        try:
            self._recogniser = self._make_recogniser()
        except Exception as failure:  # noqa: BLE001 - whatever it is, recording goes on
            self._note_failure(failure)
        return self._recogniser

    def _try(self, segment: Segment) -> _Answer | None:
        """Return what was heard, or None when the recogniser failed and was let go."""
        began = time.monotonic()
        recogniser = self._recogniser or self._load()
        if recogniser is None:
            return None
        try:
            heard = recogniser.recognise(segment)
        except Exception as failure:  # noqa: BLE001 - the next note is heard all the same
            self._note_failure(failure)
            return None
        return _Answer(
            heard=heard,
            engine=recogniser.engine,
            model=recogniser.model,
            decoding_s=time.monotonic() - began,
        )

    def _note_failure(self, failure: Exception) -> None:
        self.failures += 1
        self._failure = f"{type(failure).__name__}: {failure}"
        self._recogniser = None
        # What the sentence of a foreign library quotes is unknown: only its type is logged.
        logger.warning("The recogniser failed (%s)", type(failure).__name__)
