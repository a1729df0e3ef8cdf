"""Heard in any order, stopped at any moment, with dying processes: always the same rows."""

from __future__ import annotations

import wave
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.session.bulk.clips import read_rows
from voicelog.domain.redaction import RedactedStretch
from voicelog.domain.utterance import Utterance
from voicelog.errors import ClusterError, RecogniserError, ReviewError
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.recognition.plan import RecogniserPlan
from voicelog.recognition.segments import SegmentOptions
from voicelog.review.reviewer import Reviewer
from voicelog.session.bulk.backlog import Named, find_unfinished, take_in
from voicelog.session.bulk.order import order_recordings
from voicelog.session.bulk.outcome import BulkWatcher, Fate, RecordingOutcome, Tally
from voicelog.session.bulk.task import HeardRecording, HearingTask
from voicelog.session.bulk.together import HearingTogether
from voicelog.session.keeping import Provenance
from voicelog.session.scribe import Scribe
from voicelog.store.log import Log
from voicelog.store.snapshot import write_snapshot
from voicelog.store.writing import WritableLog
from voicelog.testing import ScriptedRecogniser
from voicelog.vocabulary import load_vocabulary

# What a row becomes depends on the notes before it, so the order shows.
SAID: dict[str, tuple[str, ...]] = {
    "rec1.wav": ("accession 2031-007, volume one, the green book", "leaf four recto"),
    "rec2.wav": ("a postcard, photo corners", "dated June fourth nineteen fifty two"),
    "rec3.wav": ("next leaf", "a ticket", "goes in envelope seven"),
    "rec4.wav": ("strike that", "another one, the same", "verso blank"),
    "rec5.wav": (),
}
PLAN = RecogniserPlan(make=ScriptedRecogniser, options=())
PROVENANCE = Provenance(handler="Hazel Wren")


@pytest.fixture(scope="module")
def reader() -> Reader:
    return Reader(load_vocabulary(), ReadingOptions())


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("recordings")
    paths = []
    for number, name in enumerate(SAID, start=1):
        with wave.open(str(folder / name), "wb") as out:
            out.setnchannels(1)
            out.setsampwidth(2)
            out.setframerate(8_000)
            out.writeframes(bytes(2 * 8_000 + 2 * number))
        paths.append(folder / name)
    return paths


def say(task: HearingTask) -> HeardRecording:
    """Return what is said in a recording, a note a second, as far as it is not heard yet."""
    recording = task.recording
    utterances = tuple(
        Utterance(
            text=text,
            engine="scripted",
            recording=recording.file,
            start_s=float(second),
            end_s=second + 0.9,
        )
        for second, text in enumerate(SAID[recording.original_name])
        if second >= recording.heard_to_s
    )
    heard_to_s = utterances[-1].end_s if utterances else recording.heard_to_s
    return HeardRecording(utterances=utterances, heard_to_s=heard_to_s or 0.0, is_complete=True)


@dataclass(kw_only=True)
class LateCrew:
    """A crew that answers in the order that a test wants, one answer at a time.

    Attributes:
        pick: chooses which of so many recordings is finished next.
        fails: says what comes of a recording instead of an answer, or None.
    """

    pick: Callable[[int], int]
    fails: Callable[[str], BaseException | None] = lambda _name: None
    size: int = 3
    name: str = "3 doubles"
    is_elsewhere: bool = False
    recovered: int = 0

    def __post_init__(self) -> None:
        self._open: list[tuple[HearingTask, Future[HeardRecording]]] = []
        self._is_broken = False

    def submit(self, task: HearingTask) -> Future[HeardRecording]:
        if self._is_broken:
            raise BrokenProcessPool("broken before")
        future: Future[HeardRecording] = Future()
        self._open.append((task, future))
        return future

    def finish_one(self) -> None:
        waiting = [pair for pair in self._open if not pair[1].done()]
        if not waiting:
            return
        task, future = waiting[self.pick(len(waiting))]
        failure = self.fails(task.recording.original_name)
        if failure is None:
            future.set_result(say(task))
        elif isinstance(failure, BrokenProcessPool):
            self._is_broken = True
            for _, broken in waiting:
                broken.set_exception(failure)
        else:
            future.set_exception(failure)

    def is_deadly(self, failure: BaseException) -> bool:
        return isinstance(failure, MemoryError)

    def recover(self) -> None:
        self.recovered += 1
        self._is_broken = False

    def stop(self) -> None:
        pass


def run(
    log: WritableLog,
    reader: Reader,
    sources: Sequence[Path],
    crew: LateCrew,
    *,
    stop_after: int | None = None,
) -> tuple[Tally, list[RecordingOutcome]]:
    """Take recordings in and hear them; without sources, go on with what is unfinished."""
    outcomes: list[RecordingOutcome] = []
    scribe = Scribe(log, Logbook(reader))
    scribe.catch_up(reason="read again")
    watcher = BulkWatcher(settled=outcomes.append)
    named: Sequence[Named] = (
        take_in(sources, log, PROVENANCE, watcher=watcher) if sources else find_unfinished(log)
    )
    asked = 0

    def should_stop() -> bool:
        nonlocal asked
        asked += 1
        crew.finish_one()
        return stop_after is not None and asked > stop_after

    tally = HearingTogether(
        scribe,
        crew,
        lambda recording: HearingTask(
            plan=PLAN,
            segments=SegmentOptions(),
            recording=recording,
            path=log.audio_folder / recording.file,
        ),
        watcher=watcher,
        should_stop=should_stop,
    ).run(order_recordings(named).recordings)
    return tally, outcomes


@pytest.fixture
def logs(tmp_path: Path) -> Iterator[Callable[[], WritableLog]]:
    """Open new logs, each in a folder of its own."""
    opened: list[WritableLog] = []

    def open_new() -> WritableLog:
        folder = tmp_path / f"log{len(opened)}"
        opened.append(WritableLog.open_to_write(folder, made_by="voicelog test"))
        return opened[-1]

    yield open_new
    for log in opened:
        log.close()


@pytest.fixture(scope="module")
def expected(
    reader: Reader, recordings: list[Path], tmp_path_factory: pytest.TempPathFactory
) -> list[Any]:
    """The rows when recordings finish in their order and nothing happens."""
    folder = tmp_path_factory.mktemp("expected") / "log"
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        run(log, reader, recordings, LateCrew(pick=lambda _waiting: 0))
    rows = read_rows(folder)
    assert len(rows[0]) == sum(map(len, SAID.values()))
    return rows


class TestSameRows:
    @settings(
        deadline=None,
        max_examples=25,
        suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    )
    @given(data=st.data())
    def test_any_order_of_finishing_gives_the_same_rows(
        self,
        data: st.DataObject,
        logs: Callable[[], WritableLog],
        reader: Reader,
        recordings: list[Path],
        expected: list[Any],
    ) -> None:
        """Also when it is stopped now and then, and processes die meanwhile."""
        log = logs()
        stops = data.draw(st.lists(st.integers(0, 12), max_size=3), label="stops")
        deaths = data.draw(st.sets(st.sampled_from(sorted(SAID)), max_size=2), label="deaths")

        def die_once(name: str) -> BaseException | None:
            if name in deaths:
                deaths.remove(name)
                return BrokenProcessPool("killed")
            return None

        for stop_after in [*stops, None]:
            crew = LateCrew(
                pick=lambda waiting: data.draw(st.integers(0, waiting - 1), label="next"),
                fails=die_once,
            )
            run(log, reader, recordings, crew, stop_after=stop_after)
        assert read_rows(log.folder) == expected
        assert list(log.iter_heard_ahead()) == []
        assert list(find_unfinished(log)) == []

    def test_what_was_heard_is_not_heard_again(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """The last recording finishes first; the next run has it read without hearing it."""
        log = logs()
        last_first = LateCrew(pick=lambda waiting: waiting - 2)
        tally, _ = run(log, reader, recordings, last_first, stop_after=3)
        assert tally.is_stopped
        kept = {one.recording for one in log.iter_heard_ahead()}
        assert kept
        assert log.count_notes() == 0
        heard: list[str] = []
        crew = LateCrew(pick=lambda _waiting: 0, fails=heard.append)  # type: ignore[func-returns-value]
        run(log, reader, (), crew)
        assert kept.isdisjoint(heard)
        assert log.count_notes() == sum(map(len, SAID.values()))


class TestTrouble:
    def test_a_recording_that_ends_its_process_each_time_is_set_aside_and_others_go_on(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """From the second time on it is heard alone, so that it is certain which one it was."""
        log = logs()
        crew = LateCrew(
            pick=lambda _waiting: 0,
            fails=lambda name: BrokenProcessPool("x") if name == "rec2.wav" else None,
        )
        tally, outcomes = run(log, reader, recordings, crew)
        fates = {one.name: one.fate for one in outcomes}
        assert fates == {
            "rec1.wav": Fate.HEARD,
            "rec2.wav": Fate.SET_ASIDE,
            "rec3.wav": Fate.HEARD,
            "rec4.wav": Fate.HEARD,
            "rec5.wav": Fate.UNUSABLE,
        }
        assert crew.recovered == 3
        assert tally.unread == tally.unheard == 0
        assert [one.name for one in find_unfinished(log)] == ["rec2.wav"]

    def test_when_every_process_dies_the_recogniser_is_to_blame(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """Not a thousand sentences about a thousand recordings."""
        crew = LateCrew(pick=lambda _waiting: 0, fails=lambda _name: BrokenProcessPool("x"))
        with pytest.raises(RecogniserError, match=r"3 recordings in a row ended the process"):
            run(logs(), reader, recordings, crew)

    def test_a_fault_over_one_recording_stops_none_of_the_others(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """It is said, and the recording stays in the log for another try."""
        log = logs()
        crew = LateCrew(
            pick=lambda _waiting: 0,
            fails=lambda name: ZeroDivisionError("x") if name == "rec3.wav" else None,
        )
        _, outcomes = run(log, reader, recordings, crew)
        [aside] = [one for one in outcomes if one.fate is Fate.SET_ASIDE]
        assert aside.sentence.startswith("rec3.wav could not be heard (ZeroDivisionError: x)")
        assert [one.name for one in find_unfinished(log)] == ["rec3.wav"]

    def test_a_recording_over_which_worker_after_worker_dies_is_set_aside(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """A scheduler has tried it with several before it says so."""
        crew = LateCrew(
            pick=lambda _waiting: 0,
            fails=lambda name: MemoryError() if name == "rec1.wav" else None,
        )
        _, outcomes = run(logs(), reader, recordings, crew)
        assert [one.name for one in outcomes if one.fate is Fate.SET_ASIDE] == ["rec1.wav"]

    def test_a_lost_cluster_is_one_sentence_and_what_was_heard_is_kept(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """The answers that come no more are called off by the client."""
        log = logs()

        class Lost(LateCrew):
            def finish_one(self) -> None:
                if log.count_notes():
                    for _, future in self._open:
                        if future.cancel():
                            future.set_running_or_notify_cancel()
                super().finish_one()

        with pytest.raises(ClusterError, match="The cluster is gone; what was heard is kept"):
            run(log, reader, recordings, Lost(pick=lambda _waiting: 0))
        crew = LateCrew(pick=lambda _waiting: 0)
        run(log, reader, (), crew)
        assert log.count_notes() == sum(map(len, SAID.values()))

    def test_sound_travels_where_a_worker_cannot_see_the_log(
        self, logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
    ) -> None:
        """After the first that finds nothing, all others take theirs along."""
        travelled: list[bool] = []

        class Blind(LateCrew):
            def submit(self, task: HearingTask) -> Future[HeardRecording]:
                travelled.append(task.sound is not None)
                future: Future[HeardRecording] = Future()
                if task.sound is None:
                    future.set_result(HeardRecording(is_out_of_reach=True))
                else:
                    assert task.sound == task.path.read_bytes()
                    future.set_result(say(task))
                return future

        log = logs()
        run(log, reader, recordings, Blind(pick=lambda _waiting: 0, size=1))
        assert log.count_notes() == sum(map(len, SAID.values()))
        assert travelled.count(False) == 2
        assert travelled.count(True) == len(SAID)


class TestTakingIn:
    def test_one_recording_under_two_names_is_taken_once(
        self,
        logs: Callable[[], WritableLog],
        reader: Reader,
        recordings: list[Path],
        tmp_path: Path,
    ) -> None:
        """It is known by its bytes; the sentence names the other."""
        twin = tmp_path / "copy of rec2.wav"
        twin.write_bytes(recordings[1].read_bytes())
        log = logs()
        crew = LateCrew(pick=lambda _waiting: 0)
        _, outcomes = run(log, reader, [*recordings, twin, tmp_path / "missing.wav"], crew)
        assert [(one.name, one.same_as) for one in outcomes if one.fate is Fate.TWICE] == [
            ("copy of rec2.wav", "rec2.wav")
        ]
        [missing] = [one for one in outcomes if one.name == "missing.wav"]
        assert missing.fate is Fate.UNUSABLE
        assert "does not exist" in missing.sentence
        assert log.count_notes() == sum(map(len, SAID.values()))
        _, again = run(log, reader, [twin, *recordings[:1]], crew)
        assert [(one.name, one.fate, one.same_as) for one in again] == [
            ("copy of rec2.wav", Fate.KNOWN, "rec2.wav"),
            ("rec1.wav", Fate.KNOWN, "rec1.wav"),
        ]

    def test_a_file_that_breaks_off_while_it_is_read_stops_nothing(
        self, logs: Callable[[], WritableLog]
    ) -> None:
        """The kernel refuses to read this file of its own, as a dying disk would."""
        refuses = Path("/proc/self/clear_refs")
        outcomes: list[RecordingOutcome] = []
        take_in([refuses], logs(), PROVENANCE, watcher=BulkWatcher(settled=outcomes.append))
        assert [one.fate for one in outcomes] == [Fate.UNUSABLE]


def test_a_partly_heard_recording_is_finished_from_where_it_was_left(
    logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path]
) -> None:
    """A process that is told to stop answers with what it has heard; that is kept and joined."""

    class Halved(LateCrew):
        def submit(self, task: HearingTask) -> Future[HeardRecording]:
            future: Future[HeardRecording] = Future()
            heard = say(task)
            if task.recording.heard_to_s == 0 and len(heard.utterances) > 1:
                first = heard.utterances[0]
                heard = replace(
                    heard, utterances=(first,), heard_to_s=first.end_s or 0, is_complete=False
                )
            future.set_running_or_notify_cancel()
            future.set_result(heard)
            return future

    log = logs()
    crew = Halved(pick=lambda _waiting: 0)
    run(log, reader, recordings[:4], crew, stop_after=1)
    assert {one.is_complete for one in log.iter_heard_ahead()} == {False}
    _, outcomes = run(log, reader, (), crew)
    assert {one.resumed_at_s for one in outcomes} == {0.9}
    texts = [note.text for note in log.iter_notes()]
    assert texts == [text for said in SAID.values() for text in said]


def test_words_that_wait_to_be_read_leave_by_no_other_door(
    logs: Callable[[], WritableLog], reader: Reader, recordings: list[Path], tmp_path: Path
) -> None:
    """A copy of the log goes without them, and nothing is redacted before they are notes."""
    log = logs()
    run(log, reader, recordings, LateCrew(pick=lambda waiting: waiting - 2), stop_after=3)
    assert list(log.iter_heard_ahead())
    copy = tmp_path / "copy" / "log.sqlite"
    copy.parent.mkdir()
    write_snapshot(log.folder, copy)
    with Log.open(copy.parent) as copied:
        assert list(copied.iter_heard_ahead()) == []
    log.close()
    redacting = Reviewer(log.folder, reader, by="Ada Fenn", made_by="voicelog test").redacting
    with pytest.raises(ReviewError, match=r"heard and not read yet.*transcribe --log"):
        redacting.find("leaf")
    with pytest.raises(ReviewError, match=r"heard and not read yet.*transcribe --log"):
        redacting.redact([RedactedStretch(note=1, first=0, last=4, text="leaf")], reason="a name")
