"""The live hour: notes come in, rows and tones go out, in the order in which it was said.

Four threads, each with one thing to do. The ear saves sound and cuts it into notes; the
hearing thread turns notes into words; the loudspeaker plays; and the thread that calls
:meth:`LiveSession.run` owns the log. What the others have to say to it comes through one
queue.
"""

from __future__ import annotations

import queue
import time
from collections import deque
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TypeVar

from voicelog.domain.statement import Order
from voicelog.domain.utterance import Utterance
from voicelog.errors import SourceLost
from voicelog.recognition.recogniser import Recogniser, Samples
from voicelog.session.live.along import HearingAlong
from voicelog.session.live.backlog import Backlog, Marker, SpokenNote
from voicelog.session.live.closing_talk import ClosingTalk
from voicelog.session.live.desk import Desk, Taken, is_resume
from voicelog.session.live.ear import EarThread, EarWatcher
from voicelog.session.live.files_heard import FilesHeard
from voicelog.session.live.hearing import HeardNote, HearingThread
from voicelog.session.live.likeness import Likeness
from voicelog.session.live.loudspeaker import Loudspeaker
from voicelog.session.live.options import Key, LiveOptions, LiveWatcher, Outcome
from voicelog.session.live.own_voice import OwnVoice
from voicelog.session.live.recorder import Recorder
from voicelog.session.live.saved_sound import read_stretch
from voicelog.session.live.session_files import Machine, Occasion, RecorderWatcher
from voicelog.session.live.session_record import record_session
from voicelog.session.live.sources import SoundSource
from voicelog.session.live.tones import Tone
from voicelog.session.live.view import NoteLine, State, View
from voicelog.session.live.wording import say_entry, say_mark

_LOOK_S = 0.1
_SHOWN = 3

_T = TypeVar("_T")


class LiveSession:
    """One session at the bench."""

    def __init__(
        self,
        desk: Desk,
        source: SoundSource,
        make_recogniser: Callable[[], Recogniser],
        *,
        options: LiveOptions,
        watcher: LiveWatcher | None = None,
        machine: Machine | None = None,
    ) -> None:
        """Prepare a session.

        Args:
            desk: where notes are taken down.
            source: where sound comes from, open already.
            make_recogniser: makes a recogniser, and another one when that fails.
            options: how the session goes.
            watcher: who wants to know.
            machine: clocks and disk; tests put their own in place.

        Raises:
            DiskFull: there is no room to begin.
        """
        self._desk = desk
        self._source = source
        self._options = options
        self._watcher = watcher or LiveWatcher()
        self._inbox: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._files = FilesHeard(desk.log)
        self._lines: deque[NoteLine] = deque(maxlen=_SHOWN)
        self._taken = 0
        self._unread = 0
        self._is_ready = False
        self._is_lost = False
        self._is_finishing = False
        self._is_over = False
        self._failure: Exception | None = None
        self._message = ""
        own_voice = OwnVoice()
        self._recorder = Recorder(
            desk.audio_folder,
            options.recorder,
            occasion=Occasion(
                source=source.name, handler=options.handler, speakers=options.speakers
            ),
            watcher=RecorderWatcher(
                started=desk.log.begin_session,
                begun=self._later(self._files.begin),
                sealed=self._later(self._files.seal),
                gap=lambda why, lost_s: self._inbox.put(lambda: self._tell_gap(why, lost_s)),
                disk_low=self._later(self._tell_disk_low),
            ),
            machine=machine,
        )
        self._along: HearingAlong | None = None
        if (commands := options.commands) is not None:
            # About a second, better spent before anybody speaks.
            self._along = HearingAlong(commands, Likeness(commands.wordings))
        self._hearing = HearingThread(
            make_recogniser,
            Backlog(self._read_again),
            along=self._along,
            on_ready=lambda: self._inbox.put(self._get_ready),
            on_heard=self._later(self._take_heard),
        )
        self._ear = EarThread(
            source,
            self._recorder,
            self._hearing,
            segments=options.segments,
            own_voice=own_voice,
            watcher=EarWatcher(
                over=self._later(self._files.finish),
                ended=self._later(self._end),
                along=self._along,
            ),
        )
        self._loudspeaker = Loudspeaker(
            options.speaking,
            own_voice=own_voice,
            is_handler_speaking=lambda: self._ear.is_in_note,
            on_failure=self._later(self._tell_silent),
        )
        self._talk = ClosingTalk(desk, options.find_findings, say=self._loudspeaker.say)

    def run(self) -> Outcome:
        """Record, hear and take down until :meth:`finish`, or until the source has ended.

        Raises:
            StoreError: the log could not be written; the sound is saved, and the next
                start hears what is missing.
        """
        if self._desk.standing.is_paused:
            # The last session ended in a pause; to start another is to say "resume log".
            self._take_typed(str(Order.RESUME))
        self._loudspeaker.start()
        if self._along is not None:
            self._along.start()
        self._hearing.start()
        self._ear.start()
        try:
            while not self._is_over:
                self._work()
        finally:
            self._ear.finish()
            self._ear.join()
            if self._along is not None:
                self._along.finish()
            self._loudspeaker.finish()
        self._loudspeaker.join()
        self._record_session()
        return Outcome(
            notes=self._taken,
            recorded_s=self._recorder.recorded_s,
            unread=self._unread,
            failure=self._failure,
        )

    def finish(self) -> None:
        """End the note being spoken, hear what waits, and stop; from any thread.

        Said twice, what still waits is left for the next start.
        """
        if self._is_finishing:
            self._inbox.put(lambda: self._end(None))
        self._is_finishing = True
        self._ear.finish()

    def press(self, key: Key) -> None:
        """A key or pedal was pressed; from any thread."""
        self._inbox.put(lambda: self._obey_key(key))

    def lose_source(self, loss: SourceLost) -> None:
        """The source has gone; it may come back."""
        self._inbox.put(lambda: self._tell_lost(str(loss)))

    def regain_source(self, name: str) -> None:
        """The source is back."""
        self._inbox.put(lambda: self._tell_back(name))

    @property
    def decoded_in_vain(self) -> int:
        """How many notes were decoded ahead and then went on."""
        return self._hearing.decoded_in_vain

    @property
    def view(self) -> View:
        """This moment, for the screen."""
        standing = self._desk.standing
        now = time.monotonic()
        return View(
            state=self._state(is_paused=standing.is_paused),
            log_name=self._desk.log.folder.name,
            microphone=self._source.name,
            accession=standing.accession,
            volume=standing.volume,
            place=standing.place,
            notes=tuple(self._lines),
            level=self._ear.level,
            is_in_note=self._ear.is_in_note,
            words=self._along.words if self._along is not None else "",
            waiting=self._hearing.waiting,
            lag_s=self._hearing.lag_s(now),
            recorded_s=self._recorder.recorded_s,
            free_bytes=self._recorder.free_bytes,
            taken=self._taken,
            queried=standing.queried,
            question=self._talk.question,
            message=self._message,
        )

    def _state(self, *, is_paused: bool) -> State:
        flags = (
            (self._is_finishing, State.FINISHING),
            (self._is_lost, State.LOST),
            (is_paused, State.PAUSED),
            (self._loudspeaker.is_speaking, State.SPEAKING),
            (not self._is_ready, State.LOADING),
        )
        return next((state for flag, state in flags if flag), State.LISTENING)

    def _later(self, act: Callable[[_T], None]) -> Callable[[_T], None]:
        """Return a function that any thread may call, for one that only ours may."""
        return lambda what: self._inbox.put(lambda: act(what))

    def _work(self) -> None:
        """Do what has come in, then show how things stand."""
        try:
            act = self._inbox.get(timeout=_LOOK_S)
        except queue.Empty:
            pass
        else:
            act()
        self._watcher.show(self.view)

    # What the other threads have to say -------------------------------------------------

    def _get_ready(self) -> None:
        self._is_ready = True

    def _take_heard(self, heard_note: HeardNote) -> None:
        note, heard = heard_note.note, heard_note.heard
        if note.file is not None and self._files.is_spoilt(note.file):
            self._leave_unread()
            return
        if heard is None:
            self._fail_to_hear(note, heard_note.failure or "")
            return
        if not heard.text:
            return
        is_paused = self._desk.standing.is_paused
        if is_paused and not is_resume(self._desk.find_orders(heard.text)):
            return
        # What is said during a pause is kept nowhere, also while the pause was taking effect.
        is_kept = note.file is not None and not is_paused
        utterance = Utterance(
            text=heard.text,
            words=heard.words if is_kept else (),
            engine=heard_note.engine,
            model=heard_note.model,
            recording=note.file if is_kept else None,
            start_s=note.segment.start_s if is_kept else None,
            end_s=note.segment.end_s if is_kept else None,
            recorded_at=self._files.wall_clock(note.file, note.segment.start_s),
            handler=self._options.handler,
            alternatives=heard.alternatives,
        )
        taken = self._talk.take(utterance)
        if taken.tone is Tone.PAUSED:
            self._ear.pause(behind=note)
        self._answer(taken, after_s=time.monotonic() - note.closed_at)

    def _fail_to_hear(self, note: SpokenNote, why: str) -> None:
        """Leave a note to the next start, and everything behind it in the same file too.

        The log only knows how far a file has been heard, so that nothing is heard twice.
        """
        if note.file is not None:
            self._files.spoil(note.file)
            self._ear.begin_new_file()
        self._leave_unread()
        self._tell(
            f"A note could not be understood ({why}); it is saved and heard at the next start."
        )

    def _leave_unread(self) -> None:
        self._unread += 1
        self._loudspeaker.sound(Tone.TROUBLE)

    def _obey_key(self, key: Key) -> None:
        if key is not Key.PAUSE:
            # What was said before the key was pressed comes first.
            self._hearing.take(Marker(tell=self._later_call(lambda: self._take_typed(str(key)))))
        elif self._desk.standing.is_paused:
            self._take_typed(str(Order.RESUME))
        else:
            self._ear.pause_now(self._later_call(lambda: self._take_typed(str(Order.PAUSE))))

    def _later_call(self, act: Callable[[], None]) -> Callable[[], None]:
        return lambda: self._inbox.put(act)

    def _take_typed(self, text: str) -> None:
        now = datetime.now(UTC).astimezone().isoformat(timespec="seconds")
        utterance = Utterance(text=text, recorded_at=now, handler=self._options.handler)
        self._answer(self._talk.take(utterance), after_s=None)

    def _answer(self, taken: Taken, *, after_s: float | None) -> None:
        """Let the handler hear and see what became of a note."""
        if taken.tone is Tone.RESUMED:
            self._ear.resume()
        self._taken += 1
        self._message = ""
        self._lines.append(
            NoteLine(
                number=taken.note.number,
                text=taken.note.text,
                entries=taken.entries,
                new_doubts=taken.new_doubts,
            )
        )
        self._watcher.show(self.view)
        self._watcher.taken(taken, after_s)
        self._loudspeaker.sound(taken.tone)
        for entry in taken.to_write:
            self._loudspeaker.say(say_mark(entry))
        if taken.lacks_accession:
            self._loudspeaker.say("there is no mark without the accession number")
            self._tell("Something came loose, but without the accession number it has no mark.")
        latest = self._desk.latest
        is_wanted = Order.READ_BACK in taken.orders.given or (
            self._options.read_back and bool(taken.entries) and not taken.to_write
        )
        if is_wanted:
            self._loudspeaker.say(say_entry(latest) if latest else "nothing was said yet")
        self._message = self._talk.go_on(taken) or self._message

    def _end(self, failure: Exception | None) -> None:
        """Everything said has been heard, or is left to the next start."""
        self._failure = self._failure or failure
        if failure is not None:
            self._tell(str(failure))
        self._hearing.finish()
        self._is_over = True

    # Trouble ----------------------------------------------------------------------------

    def _tell(self, sentence: str) -> None:
        self._message = sentence
        self._watcher.say(sentence)

    def _tell_silent(self, sentence: str) -> None:
        # While the microphone is away there is something more important on the screen.
        if self._is_lost:
            self._watcher.say(sentence)
        else:
            self._tell(sentence)

    def _record_session(self) -> None:
        """Bring what the journal says about this session into the log."""
        record_session(self._desk.log, self._recorder.session, is_over=self._is_over)

    def _tell_gap(self, why: str, lost_s: float) -> None:
        self._record_session()
        self._loudspeaker.sound(Tone.TROUBLE)
        self._tell(f"{lost_s:.1f} s of sound are missing ({why}); say again what you said then.")

    def _tell_disk_low(self, free_bytes: int) -> None:
        self._loudspeaker.sound(Tone.TROUBLE)
        self._tell(f"Only {free_bytes / 1e6:.0f} MB are left on the disk; make room soon.")

    def _tell_lost(self, sentence: str) -> None:
        self._is_lost = True
        self._loudspeaker.sound(Tone.TROUBLE)
        self._tell(sentence)

    def _tell_back(self, name: str) -> None:
        self._is_lost = False
        self._loudspeaker.sound(Tone.RESUMED)
        self._tell(f"The microphone {name} is back; recording goes on.")

    def _read_again(self, note: SpokenNote) -> Samples:
        path = self._desk.audio_folder / (note.file or "")
        return read_stretch(path, start_s=note.segment.start_s, end_s=note.segment.end_s)
