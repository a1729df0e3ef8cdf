"""What must survive each fault, of the recorder and at the next start.

Whole sessions, and what goes wrong in them, are in test_faults.py.

| fault | what must survive | tests |
|---|---|---|
| SIGKILL at any instant (48, seeded) | sound but for a second, notes, files | `TestKill` |
| power cut at any instant (24, seeded) | the same, of what was synced | `TestPowerCut` |
| crash before all was heard | every note, none twice | `TestHearing` |
| crash between journal, file and log | every file is in the log | `TestSteps` |
| journal torn at its end | the lines before | `test_a_torn_journal_...` |
| source gone and back | a gap, written down | test_recorder.py, test_microphone.py |
| clock set, machine asleep | all sound; the jump written down | test_recorder.py |
| disk nearly full, full, failing | all sound until then | test_recorder.py |
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.recognition.recordings import SPOKEN_NOTES
from tests.session.live.dooming import RATE_HZ, read_tally
from tests.session.live.reading import read_all
from tests.session.live.surviving import check_what_survived, cut_power, let_recorders_die, open_log
from voicelog.domain.note import Note
from voicelog.domain.utterance import Utterance
from voicelog.recognition.recogniser import Heard, Segment
from voicelog.recognition.segments import NoteCutter, SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.live.journal import Event, find_journals, read_journal
from voicelog.session.live.recorder import Recorder, RecorderOptions
from voicelog.session.live.recovery import find_unfinished, hear_unfinished, settle
from voicelog.session.live.session_files import Occasion, RecorderWatcher
from voicelog.session.live.sources import FileSource
from voicelog.session.recordings import take_recording
from voicelog.session.scribe import Scribe
from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog
from voicelog.testing import PlainLogbook

KILLS = range(48)
POWER_CUTS = range(1_000, 1_024)
MOST_LOST_S = 1.0


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return let_recorders_die(tmp_path_factory.mktemp("killed"), KILLS, "kill")


@pytest.fixture(scope="module")
def cut_off(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = let_recorders_die(tmp_path_factory.mktemp("cut-off"), POWER_CUTS, "power")
    for seed in POWER_CUTS:
        cut_power(folder / str(seed), headers_made_it=seed % 2 == 0)
    return folder


class TestKill:
    """SIGKILL, at a random instant of a session that records in real time and takes notes."""

    @pytest.mark.parametrize("seed", KILLS)
    def test_all_but_the_last_second_survives(self, killed: Path, seed: int) -> None:
        assert check_what_survived(killed / str(seed), seed) <= MOST_LOST_S

    def test_the_kills_fell_into_sessions_that_were_under_way(self, killed: Path) -> None:
        """Else the test above would prove nothing."""
        tallies = [read_tally(killed / str(seed)) for seed in KILLS]
        assert sum(tally.said > RATE_HZ // 2 for tally in tallies) > len(KILLS) / 2
        # A busy machine takes notes later, so that fewer of the sessions have one by then.
        assert sum(tally.notes > 0 for tally in tallies) > len(KILLS) / 4


class TestPowerCut:
    """The same, and of everything written only what an fsync brought to the disk is left."""

    @pytest.mark.parametrize("seed", POWER_CUTS)
    def test_all_but_the_last_second_survives(self, cut_off: Path, seed: int) -> None:
        assert check_what_survived(cut_off / str(seed), seed) <= MOST_LOST_S

    def test_a_second_really_was_at_stake(self, cut_off: Path) -> None:
        """Something was lost in some of them, or the disk was not cut off at all."""
        said = sum(read_tally(cut_off / str(seed)).said for seed in POWER_CUTS)
        kept = sum(len(read_all(cut_off / str(seed) / "log" / "audio")) for seed in POWER_CUTS)
        assert 0 < said - kept <= len(POWER_CUTS) * RATE_HZ


class Listener:
    """A recogniser that says when each segment began, and so tells one from another."""

    engine = "double"
    model = "by time"

    def recognise(self, segment: Segment) -> Heard:
        return Heard(text=f"spoken at {segment.start_s:.1f}")


def record_and_hear(log: WritableLog, scribe: Scribe, *, notes_wanted: int) -> None:
    """Record all of the spoken notes, and crash after so many of them were taken down."""
    cutter = NoteCutter(SegmentOptions())
    watcher = RecorderWatcher(
        started=log.begin_session, begun=log.add_recording, sealed=log.seal_recording
    )
    recorder = Recorder(log.audio_folder, watcher=watcher, occasion=Occasion(handler="Ida"))
    taken = 0
    with FileSource(SPOKEN_NOTES, speed=None) as source:
        while not source.ended:
            block = source.read(1)
            assert block is not None
            for piece in recorder.write(block):
                for segment in cutter.push(piece.as_sound()):
                    if taken < notes_wanted:
                        taken += 1
                        scribe.take_down(
                            Utterance(
                                text=Listener().recognise(segment).text,
                                recording=piece.file,
                                start_s=segment.start_s,
                                end_s=segment.end_s,
                            ),
                            heard_to_s=segment.end_s,
                        )


def make_scribe(log: WritableLog) -> Scribe:
    scribe = Scribe(log, PlainLogbook(lambda _note: None))
    scribe.catch_up(reason="a test")
    return scribe


def recover(folder: Path, segments: SegmentOptions | None = None) -> tuple[int, list[Note]]:
    hearing = Hearing(recogniser=Listener(), segments=segments or SegmentOptions())
    with open_log(folder) as log:
        added = hear_unfinished(settle(log), make_scribe(log), hearing)
        return added, list(log.iter_notes())


@pytest.fixture(scope="module")
def uninterrupted(tmp_path_factory: pytest.TempPathFactory) -> list[Note]:
    folder = tmp_path_factory.mktemp("uninterrupted") / "log"
    with open_log(folder) as log:
        record_and_hear(log, make_scribe(log), notes_wanted=100)
    return recover(folder)[1]


class TestHearing:
    @pytest.mark.parametrize("notes_wanted", [0, 1, 4, 7, 100])
    def test_what_was_not_heard_is_heard_once(
        self, tmp_path: Path, uninterrupted: list[Note], notes_wanted: int
    ) -> None:
        """Wherever the crash came, the notes are those of a session without one."""
        folder = tmp_path / "log"
        with open_log(folder) as log:
            record_and_hear(log, make_scribe(log), notes_wanted=notes_wanted)
        _, notes = recover(folder)
        assert [note.text for note in notes] == [note.text for note in uninterrupted]
        assert [(note.start_s, note.end_s) for note in notes] == [
            (note.start_s, note.end_s) for note in uninterrupted
        ]
        assert {note.handler for note in notes[notes_wanted:]} <= {"Ida"}
        assert recover(folder) == (0, notes)

    def test_notes_cut_otherwise_are_not_heard_twice(
        self, tmp_path: Path, uninterrupted: list[Note]
    ) -> None:
        """The pause setting may have changed since; what was heard stays heard."""
        folder = tmp_path / "log"
        with open_log(folder) as log:
            record_and_hear(log, make_scribe(log), notes_wanted=3)
        _, notes = recover(folder, SegmentOptions(pause_ms=1_500, padding_ms=100))
        third_ends_s = uninterrupted[2].end_s
        assert third_ends_s is not None
        for note in notes[3:]:
            assert note.start_s is not None
            assert note.start_s >= third_ends_s
        assert notes[-1].end_s == pytest.approx(uninterrupted[-1].end_s, abs=0.5)

    def test_a_file_that_vanished_meanwhile_keeps_its_turn(self, tmp_path: Path) -> None:
        folder = tmp_path / "log"
        with open_log(folder) as log:
            record_and_hear(log, make_scribe(log), notes_wanted=0)
            waiting = settle(log)
            (log.audio_folder / waiting[0].file).rename(tmp_path / "elsewhere.wav")
            hearing = Hearing(recogniser=Listener(), segments=SegmentOptions())
            assert hear_unfinished(waiting, make_scribe(log), hearing) == 0
            (tmp_path / "elsewhere.wav").rename(log.audio_folder / waiting[0].file)
        assert recover(folder)[0] > 0


class Crash(BaseException):
    """Stands for the end of the process at one chosen step."""


def crash(*_: object) -> None:
    raise Crash


def ignore(_recording: Recording) -> None:
    """Stands for a process that died before it told the log."""


class TestSteps:
    """Crashes between two steps that belong together."""

    def record(
        self,
        folder: Path,
        *,
        begun: Callable[[Recording], None] | None = None,
        sealed: Callable[[Recording], None] | None = None,
    ) -> None:
        """Record until the end of the sound or the crash; the log is told, if not otherwise."""
        with open_log(folder) as log, FileSource(SPOKEN_NOTES, speed=None) as source:
            watcher = RecorderWatcher(
                started=log.begin_session,
                begun=begun or log.add_recording,
                sealed=sealed or log.seal_recording,
            )
            recorder = Recorder(
                log.audio_folder,
                RecorderOptions(file_s=20),
                watcher=watcher,
                occasion=Occasion(handler="Ida"),
            )
            while (block := source.read(1)) is not None:
                recorder.write(block)

    def test_a_file_that_the_log_never_heard_of_is_found(self, tmp_path: Path) -> None:
        folder = tmp_path / "log"
        self.record(folder, begun=ignore, sealed=ignore)
        with open_log(folder) as log:
            assert list(log.iter_recordings()) == []
            (first, second) = settle(log)
            assert (first.handler, first.channels, first.sample_rate_hz) == ("Ida", 1, 16_000)
            assert first.duration_s is not None
            assert first.duration_s >= 20
            assert [recording.file for recording in log.iter_recordings()] == [
                first.file,
                second.file,
            ]

    def test_a_crash_before_any_sound_leaves_an_empty_file_that_counts_as_heard(
        self, tmp_path: Path
    ) -> None:
        folder = tmp_path / "log"
        with pytest.raises(Crash):
            self.record(folder, begun=crash)
        with open_log(folder) as log:
            assert settle(log) == ()
            (recording,) = log.iter_recordings()
            assert (recording.duration_s, recording.finished_at is None) == (0.0, False)
            assert find_unfinished(log) == ()

    def test_a_crash_while_a_file_is_sealed(self, tmp_path: Path) -> None:
        folder = tmp_path / "log"
        with pytest.raises(Crash):
            self.record(folder, sealed=crash)
        with open_log(folder) as log:
            (recording,) = settle(log)
            assert recording.duration_s is not None
            assert recording.duration_s >= 20
            assert [known.sha256 for known in log.iter_recordings()] == [recording.sha256]

    def test_a_damaged_file_is_left_as_it_is_and_told_about(self, tmp_path: Path) -> None:
        folder = tmp_path / "log"
        self.record(folder, begun=ignore, sealed=ignore)
        first, second = sorted((folder / "audio").glob("*.wav"))
        first.write_bytes(bytes(9_000))
        told: list[str] = []
        with open_log(folder) as log:
            (waiting,) = settle(log, on_damage=told.append)
        assert waiting.file == second.name
        assert told == [f"{first} is damaged at its beginning; it was left as it is."]
        assert first.read_bytes() == bytes(9_000)


def test_a_torn_journal_gives_the_lines_before(tmp_path: Path) -> None:
    with Recorder(tmp_path, occasion=Occasion(source="headset")):
        pass
    (journal,) = find_journals(tmp_path)
    whole = journal.read_bytes()
    events = [line.event for line in read_journal(journal)]
    assert events == [Event.SESSION, Event.CLOSED]
    for length in range(len(whole)):
        journal.write_bytes(whole[:length])
        lines = list(read_journal(journal))
        assert [line.event for line in lines] == events[: len(lines)]
        assert len(lines) >= whole[:length].count(b"\n")


class CrashingListener(Listener):
    def recognise(self, segment: Segment) -> Heard:
        if segment.start_s > 8:
            raise Crash
        return super().recognise(segment)


def test_an_interrupted_transcription_is_no_live_session(tmp_path: Path) -> None:
    """It is finished by its own command, which knows the file that it came from."""
    folder = tmp_path / "log"
    hearing = Hearing(recogniser=CrashingListener(), segments=SegmentOptions())
    with open_log(folder) as log, pytest.raises(Crash):
        take_recording(SPOKEN_NOTES, make_scribe(log), hearing)
    with open_log(folder) as log:
        assert [recording.finished_at for recording in log.iter_recordings()] == [None]
        assert log.count_notes() > 0
        assert find_unfinished(log) == ()
