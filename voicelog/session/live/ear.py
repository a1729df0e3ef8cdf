"""The ear: takes sound from its source, saves it, and finds the notes in it."""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from voicelog.errors import VoicelogError
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples, Segment, Stretch
from voicelog.recognition.segments import NoteCutter, SegmentOptions
from voicelog.session.live.along import HearingAlong
from voicelog.session.live.backlog import Marker, SpokenNote
from voicelog.session.live.hearing import HearingThread
from voicelog.session.live.own_voice import OwnVoice
from voicelog.session.live.recorder import Piece, Recorder
from voicelog.session.live.sources import SoundSource

logger = logging.getLogger(__name__)

_READ_S = 0.1
_SILENT_S = 1.0
"""A source that gives nothing for so long has gone, or its computer slept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EarWatcher:
    """Who wants to know what the ear does; called in the ear's thread.

    Attributes:
        over: called with a file once no further note of it will come, after all its notes
            were heard.
        ended: called when the ear is done, with what stopped it, or None.
        along: hears each note while it is being spoken, where there is one.
    """

    over: Callable[[str], None]
    ended: Callable[[Exception | None], None]
    along: HearingAlong | None = None


@dataclass(slots=True, kw_only=True)
class _Stretch:
    """Unbroken sound: of one file, or of one pause; ``start_s`` is where in it it began.

    ``heard_along_to`` is the sample of it up to which was heard along.
    """

    file: str | None
    start_s: float
    cutter: NoteCutter
    heard_along_to: int = 0
    held: list[Piece] = field(default_factory=list)


class EarThread(threading.Thread):
    """Sound from the source to the disk, and from there to the detector.

    Nothing in this thread waits for the recogniser. Orders from other threads are obeyed
    between two blocks.

    Attributes:
        level: how loud it is just now: root mean square, 0..1.
        is_in_note: whether a note is being spoken.
    """

    def __init__(
        self,
        source: SoundSource,
        recorder: Recorder,
        hearing: HearingThread,
        *,
        segments: SegmentOptions,
        own_voice: OwnVoice,
        watcher: EarWatcher,
    ) -> None:
        """Prepare to listen; the source is open already, and stays the caller's to close."""
        super().__init__(name="ear", daemon=True)
        self._source = source
        self._recorder = recorder
        self._hearing = hearing
        self._segments = segments
        self._own_voice = own_voice
        self._watcher = watcher
        self._along = watcher.along
        self._orders: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._stretch: _Stretch | None = None
        self._unended: str | None = None
        self._foreseen_end_s: float | None = None
        self._wants_new_file = False
        self._is_stopping = False
        self._is_silent = False
        self._came_at = 0.0
        self.level = 0.0
        self.is_in_note = False

    def pause(self, *, behind: SpokenNote) -> None:
        """Keep nothing that was said behind a note: the one that said to pause."""
        self._orders.put(lambda: self._pause(behind))

    def pause_now(self, then: Callable[[], None]) -> None:
        """End the note being spoken, keep nothing from here on.

        Args:
            then: called once all that was said before has been heard.
        """
        self._orders.put(lambda: self._pause_now(then))

    def resume(self) -> None:
        """Keep sound again."""
        self._orders.put(self._resume)

    def begin_new_file(self) -> None:
        """Go on in another file as soon as nobody is in the middle of a note."""
        self._orders.put(self._want_new_file)

    def finish(self) -> None:
        """End the note being spoken, seal the file, and be done."""
        self._is_stopping = True

    def run(self) -> None:
        """Listen until :meth:`finish`, or until there will be no more sound."""
        failure: Exception | None = None
        try:
            self._listen()
        except VoicelogError as error:
            failure = error
        except Exception as error:
            logger.exception("The ear failed")
            failure = error
        finally:
            failure = self._end() or failure
            self._hearing.take(Marker(tell=lambda: self._watcher.ended(failure)))

    def _listen(self) -> None:
        self._came_at = time.monotonic()
        while not (self._is_stopping or self._source.ended):
            block = self._source.read(_READ_S)
            self._obey()
            if block is not None:
                self._came_at = time.monotonic()
                self._is_silent = False
                for piece in self._recorder.write(block):
                    self._take(piece)
            elif time.monotonic() - self._came_at >= _SILENT_S:
                self.level = 0.0
                self._is_silent = True
                self._recorder.sync()
                # The note being spoken must not wait until the source is back.
                self._break_off()

    def _end(self) -> Exception | None:
        """Close everything; return what went wrong with that, or None."""
        try:
            self._end_stretch()
            silent_s = time.monotonic() - self._came_at if self._is_silent else 0.0
            self._recorder.close(silent_s=silent_s)
        except VoicelogError as failure:
            return failure
        return None

    def _obey(self) -> None:
        while not self._orders.empty():
            self._orders.get()()
        self._begin_wanted_file()

    def _take(self, piece: Piece) -> None:
        latest = self._stretch.file if self._stretch else self._unended
        if latest != piece.file:
            self._end_stretch()
        if self._stretch is None:
            self._stretch = _Stretch(
                file=piece.file, start_s=piece.start_s, cutter=NoteCutter(self._segments)
            )
        sound = piece.as_sound()
        self.level = float(np.sqrt(np.square(sound).mean())) if len(sound) else 0.0
        ends_at = piece.at + len(piece.samples) / SAMPLE_RATE_HZ
        if self._own_voice.may_sound(piece.at, ends_at):
            self._stretch.held.append(piece)
            return
        self._release_held()
        self._push(piece, sound)

    def _release_held(self) -> None:
        """Listen to what was held back while our voice sounded, but not to our voice."""
        stretch = self._stretch
        if stretch is None or not stretch.held:
            return
        held, stretch.held = stretch.held, []
        heard = np.concatenate([piece.as_sound() for piece in held])
        # Silence in its place keeps the times of all later words true.
        rest = self._own_voice.silence_in(heard, first_at=held[0].at)
        at = 0
        for piece in held:
            self._push(piece, rest[at : at + len(piece.samples)])
            at += len(piece.samples)

    def _push(self, piece: Piece, sound: Samples) -> None:
        stretch = self._stretch
        if stretch is None:
            return
        for segment in stretch.cutter.push(sound):
            self._close_note(segment, stretch, piece)
        was_in_note, self.is_in_note = self.is_in_note, stretch.cutter.is_in_note
        self._foresee(stretch, piece)
        if self.is_in_note:
            self._hear_along(stretch)
        elif was_in_note and self._along is not None:
            # A click at which the ear was pricked; after a note there is nothing to forget.
            self._along.forget()

    def _hear_along(self, stretch: _Stretch) -> None:
        if self._along is not None:
            sound, stretch.heard_along_to = stretch.cutter.spoken_after(stretch.heard_along_to)
            if len(sound):
                self._along.push(sound)

    def _foresee(self, stretch: _Stretch, piece: Piece) -> None:
        segment = stretch.cutter.foresee()
        if segment is None:
            if self._foreseen_end_s is not None:
                self._foreseen_end_s = None
                self._hearing.forget_foreseen()
        elif segment.end_s != self._foreseen_end_s:
            self._foreseen_end_s = segment.end_s
            self._hearing.foresee(self._make_note(segment, stretch, piece))

    def _close_note(self, segment: Segment, stretch: _Stretch, piece: Piece | None) -> None:
        self._foreseen_end_s = None
        note = self._make_note(segment, stretch, piece)
        if self._along is not None:
            first = round(segment.start_s * SAMPLE_RATE_HZ)
            rest = segment.samples[max(0, stretch.heard_along_to - first) :]
            stretch.heard_along_to = first + len(segment.samples)
            self._along.push(rest)
            self._along.close(note.key)
        self._hearing.take(note)

    def _make_note(self, segment: Segment, stretch: _Stretch, piece: Piece | None) -> SpokenNote:
        in_file = _later(segment, by_s=stretch.start_s)
        closed_at = time.monotonic()
        if piece is not None and in_file.speech:
            closed_s = in_file.speech[-1].end_s + self._segments.pause_ms / 1000
            closed_at = piece.at + closed_s - piece.start_s
        return SpokenNote(segment=in_file, file=stretch.file, closed_at=closed_at)

    def _break_off(self, *, forget_open_note: bool = False) -> None:
        """Close the note being spoken; what comes next begins another."""
        self._release_held()
        stretch, self._stretch = self._stretch, None
        self.is_in_note = False
        if stretch is not None and not forget_open_note:
            for segment in stretch.cutter.finish():
                self._close_note(segment, stretch, None)
        elif self._along is not None:
            self._along.forget()
        if stretch is not None and stretch.file is not None:
            self._unended = stretch.file

    def _end_stretch(self, *, forget_open_note: bool = False) -> None:
        """Close the note being spoken; nothing more comes from this file."""
        self._break_off(forget_open_note=forget_open_note)
        file, self._unended = self._unended, None
        if file is not None:
            self._hearing.take(Marker(tell=lambda: self._watcher.over(file)))

    def _pause(self, behind: SpokenNote) -> None:
        file = self._recorder.current_file
        # A file that began after the word to pause holds nothing that may be kept.
        keep_to_s = behind.segment.end_s if file == behind.file else 0.0
        self._end_stretch(forget_open_note=True)
        self._recorder.pause(keep_to_s=keep_to_s)

    def _pause_now(self, then: Callable[[], None]) -> None:
        self._end_stretch()
        self._recorder.pause()
        self._hearing.take(Marker(tell=then))

    def _resume(self) -> None:
        self._end_stretch(forget_open_note=True)
        self._recorder.resume()

    def _want_new_file(self) -> None:
        self._wants_new_file = True

    def _begin_wanted_file(self) -> None:
        # A note cut in two by the end of a file would be heard as two halves.
        if not self._wants_new_file or self.is_in_note:
            return
        self._wants_new_file = False
        if not self._recorder.is_paused:
            self._end_stretch()
            self._recorder.begin_new_file()


def _later(segment: Segment, *, by_s: float) -> Segment:
    """Return a segment whose times count from an earlier moment."""
    if by_s == 0 or segment.speech is None:
        return segment
    return replace(
        segment,
        start_s=round(segment.start_s + by_s, 4),
        end_s=round(segment.end_s + by_s, 4),
        speech=tuple(
            Stretch(start_s=round(part.start_s + by_s, 3), end_s=round(part.end_s + by_s, 3))
            for part in segment.speech
        ),
    )
