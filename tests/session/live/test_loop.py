"""The live hour: what is said becomes rows, in order, and nothing is lost on the way."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.session.live.bench import DEMO, SILENCE, ByLength, laid_table, spoken_sounds
from tests.session.live.reading import read_all, read_wav
from voicelog.domain.entry import Kind
from voicelog.errors import DiskFull
from voicelog.recognition.recogniser import Heard, Samples, Segment
from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.session.listening import Hearing
from voicelog.session.live.backlog import HELD_AS_SOUND
from voicelog.session.live.options import Key
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.recovery import hear_unfinished, settle
from voicelog.session.live.session_files import Machine
from voicelog.session.live.sources import Pcm
from voicelog.session.live.view import State

SAID = ("accession 2031-007", "leaf fourteen recto", "a postcard, photo corners, lifting")


def audio(folder: Path) -> Path:
    return folder / "audio"


class TestNotesBecomeRows:
    def test_in_the_order_in_which_they_were_said(self, tmp_path: Path) -> None:
        """Each note is evidence with its place in the recording; the row is there with it."""
        with laid_table(tmp_path / "log", *SAID) as table:
            table.say(*SAID)
            outcome = table.run()
            notes = list(table.bench.log.iter_notes())
            entries = [entry for _, entry in table.bench.log.iter_entries()]
            (recording,) = table.bench.log.iter_recordings()
        assert [note.text for note in notes] == list(SAID)
        assert outcome.notes == 3
        assert outcome.unread == 0
        (item,) = (entry for entry in entries if entry.kind is Kind.ITEM)
        assert (item.leaf, item.item_type, item.accession) == ("14", ("postcard",), "2031-007")
        assert all(note.recording == recording.file for note in notes)
        assert all(note.handler == "Ida Fenn" for note in notes)
        assert recording.finished_at is not None
        assert recording.heard_to_s == notes[-1].end_s

    def test_cut_where_a_recording_would_be_cut(self, tmp_path: Path) -> None:
        """The times of a note are those that its saved file gives when it is transcribed."""
        with laid_table(tmp_path / "log", *SAID) as table:
            table.say(*SAID)
            table.run()
            notes = list(table.bench.log.iter_notes())
            (file,) = audio(tmp_path / "log").glob("*.wav")
            segments = list(iter_segments(file, SegmentOptions()))
        assert [(note.start_s, note.end_s) for note in notes] == [
            (segment.start_s, segment.end_s) for segment in segments
        ]

    def test_the_note_being_spoken_at_the_end_is_taken_too(self, tmp_path: Path) -> None:
        """To finish is to finish the sentence."""
        with laid_table(tmp_path / "log", *SAID) as table:
            table.say(SAID[0])
            table.source.steps += [spoken_sounds()[1]]
            table.run()
        assert table.recorded.texts == list(SAID[:2])

    def test_a_session_ends_when_it_is_told_to(self, tmp_path: Path) -> None:
        """With all that was said until then."""
        with laid_table(tmp_path / "log", *SAID) as table:
            table.say(*SAID[:2])
            table.wait_for_notes(2)
            table.do(lambda: table.session.finish() if table.session else None)
            table.wait_for(lambda: False)
            outcome = table.run()
        assert outcome.notes == 2
        assert outcome.failure is None

    def test_notes_that_wait_long_are_read_back_from_the_disk(self, tmp_path: Path) -> None:
        """A recogniser that falls far behind costs neither notes nor memory."""
        with laid_table(tmp_path / "log", *SAID) as table:
            table.recogniser = _Slow(SAID, until=lambda: not table.source.steps)
            table.say(*SAID * 6)
            table.run()
        assert max(view.waiting for view in table.recorded.views) > HELD_AS_SOUND
        assert table.recorded.texts == list(SAID * 6)


class _Slow(ByLength):
    """Answers nothing until everything was said."""

    def __init__(self, words: tuple[str, ...], *, until: Callable[[], bool]) -> None:
        super().__init__(words)
        self._until = until

    def recognise(self, segment: Segment) -> Heard:
        while not self._until():
            time.sleep(0.01)
        return super().recognise(segment)


class TestTones:
    def test_there_is_always_one_and_it_is_the_right_one(self, tmp_path: Path) -> None:
        """Taken down, doubtful, command done: the handler needn't look."""
        said = ("leaf two", "a postcard with a blorf", "check this", "strike that")
        with laid_table(tmp_path / "log", *said) as table:
            table.say(*said)
            table.run()
        assert table.recorded.tones == ["taken down", "doubtful", "command done", "command done"]
        assert len(table.recorded.played) == 4

    def test_a_doubt_is_sounded_once(self, tmp_path: Path) -> None:
        """What follows on a queried entry without a doubt of its own is taken down."""
        said = ("leaf two", "a postcard with a blorf", "secure")
        with laid_table(tmp_path / "log", *said) as table:
            table.say(*said)
            table.run()
        assert table.recorded.tones == ["taken down", "doubtful", "taken down"]


class TestPause:
    def test_what_is_said_in_a_pause_is_kept_nowhere(self, tmp_path: Path) -> None:
        """Not in a row, not in a note, and not in a file: found nowhere in the sound saved."""
        said = ("leaf two", "pause log", "a private word", "resume log", "a ticket")
        with laid_table(tmp_path / "log", *said) as table:
            table.say("leaf two", "pause log")
            table.wait_for_notes(2)
            table.say("a private word", "resume log")
            table.wait_for_notes(3)
            table.say("a ticket")
            table.run()
            notes = list(table.bench.log.iter_notes())
        kept = read_all(audio(tmp_path / "log"))
        assert table.recorded.texts == ["leaf two", "pause log", "resume log", "a ticket"]
        assert table.recorded.tones[1:3] == ["paused", "resumed"]
        assert notes[2].recording is None
        assert notes[2].words == ()
        assert [_is_in(kept, spoken_sounds()[nth]) for nth in range(5)] == [
            True,
            True,
            False,
            False,
            True,
        ]

    def test_what_is_said_before_the_pause_is_understood_goes_too(self, tmp_path: Path) -> None:
        """It takes a moment to understand "pause log"; nothing of that moment stays."""
        said = ("leaf two", "pause log", "a private word", "resume log")
        with laid_table(tmp_path / "log", *said) as table:
            # No waiting: the private word is spoken while "pause log" is being understood.
            table.say("leaf two", "pause log", "a private word")
            table.wait_for(lambda: "pause log" in table.recorded.texts)
            table.say("resume log")
            table.run()
            notes = list(table.bench.log.iter_notes())
        kept = read_all(audio(tmp_path / "log"))
        assert [note.text for note in notes] == ["leaf two", "pause log", "resume log"]
        assert not _is_in(kept, spoken_sounds()[2])
        # A last moment of silence after "resume log" may stand in a file of its own.
        paused = read_wav(audio(tmp_path / "log") / str(notes[1].recording))
        assert notes[1].end_s == pytest.approx(len(paused) / 16_000, abs=0.01)

    def test_a_log_left_in_a_pause_goes_on(self, tmp_path: Path) -> None:
        """To start another session is to resume."""
        with laid_table(tmp_path / "log", *SAID, "pause log") as table:
            table.say("pause log")
            table.run()
        with laid_table(tmp_path / "log", *SAID) as table:
            table.say(*SAID)
            table.run()
        assert table.recorded.texts == ["resume log", *SAID]
        assert table.recorded.views[-1].state is not State.PAUSED


def _is_in(kept: Pcm, sound: Samples) -> bool:
    """Whether a quarter second from the sound's middle is in what was kept, sample for sample."""
    middle = np.rint(sound * 32767).astype(np.int16)[len(sound) // 2 :][:4000]
    return middle.tobytes() in kept.tobytes()


class TestKeys:
    def test_a_key_comes_after_what_was_said_before_it(self, tmp_path: Path) -> None:
        """A pedal pressed right after a note means that note."""
        said = ("leaf two", "a postcard", "a ticket")
        with laid_table(tmp_path / "log", *said) as table:
            table.say("leaf two", "a postcard")
            table.wait_for_notes(2)
            table.do(lambda: table.session.press(Key.STRIKE) if table.session else None)
            table.wait_for_notes(3)
            table.say("a ticket")
            table.wait_for_notes(4)
            table.do(lambda: table.session.press(Key.CHECK) if table.session else None)
            table.wait_for_notes(5)
            table.run()
            entries = [entry for _, entry in table.bench.log.iter_entries()]
        assert table.recorded.texts == [*said[:2], "strike that", "a ticket", "check this"]
        assert [entry.item_type for entry in entries] == [("ticket",)]
        assert entries[0].doubts[0].message == "the handler asked to check this"

    def test_the_pause_key_pauses_and_resumes(self, tmp_path: Path) -> None:
        """The note being spoken is finished first; nothing is kept until it is pressed again."""
        said = ("leaf two", "a private word", "a ticket")
        with laid_table(tmp_path / "log", *said) as table:
            table.source.steps += [spoken_sounds()[0]]
            table.do(lambda: table.session.press(Key.PAUSE) if table.session else None)
            table.source.steps += [SILENCE[:1600]]
            table.wait_for_notes(2)
            table.wait_for(lambda: table.recorded.views[-1].state is State.PAUSED)
            table.say("a private word")
            table.do(lambda: table.session.press(Key.PAUSE) if table.session else None)
            table.wait_for_notes(3)
            table.say("a ticket")
            table.run()
        kept = read_all(audio(tmp_path / "log"))
        assert table.recorded.texts == ["leaf two", "pause log", "resume log", "a ticket"]
        assert not _is_in(kept, spoken_sounds()[1])


class TestFailures:
    def test_a_recogniser_that_fails_once_is_replaced(self, tmp_path: Path) -> None:
        """The note is heard by the next one, and nobody needs to know."""
        with laid_table(tmp_path / "log", *SAID) as table:
            table.recogniser = _FailingOnce(SAID)
            table.say(*SAID)
            outcome = table.run()
        assert table.recorded.texts == list(SAID)
        assert outcome.unread == 0
        assert table.made == 2

    def test_a_note_that_is_never_understood_is_heard_at_the_next_start(
        self, tmp_path: Path
    ) -> None:
        """Saved, announced, and in the end nothing is lost and nothing there twice."""
        said = (*SAID, "a ticket", "leaf fifteen")
        with laid_table(tmp_path / "log", *said) as table:
            table.recogniser.failing = {SAID[1]}
            table.say(*SAID)
            table.wait_for(lambda: bool(table.recorded.sentences))
            table.say("a ticket", "leaf fifteen")
            outcome = table.run()
            assert table.recorded.sentences
            assert re.search("could not be understood", table.recorded.sentences[0])
            assert outcome.unread >= 1
            taken = table.recorded.texts
            assert "leaf fifteen" in taken
            table.recogniser.failing = set()
            hear_unfinished(
                settle(table.bench.log),
                table.bench.scribe,
                Hearing(recogniser=table.recogniser, segments=SegmentOptions()),
            )
            notes = sorted(note.text for note in table.bench.log.iter_notes())
            unfinished = [one for one in table.bench.log.iter_recordings() if not one.finished_at]
        assert notes == sorted(said)
        assert unfinished == []

    def test_a_full_disk_ends_the_session_in_good_order(self, tmp_path: Path) -> None:
        """What was said before is in the log; the reason is given."""
        free = [10_000_000_000]
        with laid_table(tmp_path / "log", *SAID) as table:
            table.say(*SAID[:2])
            table.wait_for_notes(2)
            table.do(lambda: free.__setitem__(0, 1_000_000))
            table.say(SAID[2])
            table.wait_for(lambda: False)
            outcome = table.run(
                machine=Machine(free_bytes=lambda _folder: free[0]),
                recorder=RecorderOptions(sync_s=0.0),
            )
        assert isinstance(outcome.failure, DiskFull)
        assert table.recorded.texts[:2] == list(SAID[:2])
        assert any("disk" in sentence for sentence in table.recorded.sentences)


class _FailingOnce(ByLength):
    def __init__(self, words: tuple[str, ...]) -> None:
        super().__init__(words)
        self._has_failed = False

    def recognise(self, segment: Segment) -> Heard:
        if not self._has_failed:
            self._has_failed = True
            raise MemoryError
        return super().recognise(segment)


class TestView:
    def test_the_screen_is_told_where_the_handler_is(self, tmp_path: Path) -> None:
        """Place, volume, the latest notes, what was recorded."""
        said = ("accession 2031-007", "volume one, the green book", "leaf fourteen verso", "a map")
        with laid_table(tmp_path / "log", *said) as table:
            table.say(*said)
            table.run()
        view = table.recorded.views[-1]
        assert (view.accession, view.volume) == ("2031-007", "volume 1, the green book")
        assert view.place is not None
        assert (view.place.leaf, view.place.side) == ("14", "verso")
        assert [line.text for line in view.notes] == list(said[1:])
        assert view.taken == 4
        assert view.recorded_s > 8

    def test_every_demo_note_has_a_sound_of_its_own_length(self) -> None:
        """What these tests stand on."""
        assert DEMO.is_file()
        assert len(spoken_sounds()) == 7
