"""Who was recorded, whether they were told, and every gap: in the log whatever happens."""

from __future__ import annotations

import time
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.session.live.bench import SILENCE, laid_table
from tests.session.live.bench_day import HurriedClock
from tests.session.live.surviving import open_log
from voicelog.domain.speakers import Speakers, Told
from voicelog.session.live.clocks import Clocks
from voicelog.session.live.options import Key
from voicelog.session.live.recorder import NO_SOUND_CAME, SLEPT, Recorder
from voicelog.session.live.recovery import settle
from voicelog.session.live.session_files import Machine, Occasion, RecorderWatcher
from voicelog.session.live.session_record import find_unended_sessions
from voicelog.session.live.sources import Block
from voicelog.store.log import Log
from voicelog.store.sessions import Incident, IncidentKind, Session

SPEAKERS = Speakers(people=("Ida Fenn", "Tom Vale"), told=Told.YES)
OCCASION = Occasion(source="headset", handler="Ida Fenn", speakers=SPEAKERS)


def the_session(folder: Path) -> tuple[Session, tuple[Incident, ...]]:
    with open_log(folder) as log:
        (session,) = log.iter_sessions()
        return session, log.find_incidents(session)


def _read_incidents(folder: Path) -> tuple[Incident, ...]:
    """Look into a log to which somebody is writing."""
    with Log.open(folder) as log:
        (session,) = log.iter_sessions()
        return log.find_incidents(session)


def block(at: float, *, seconds: float = 1.0) -> Block:
    samples = np.ones(round(seconds * 16_000), dtype=np.int16)
    return Block(samples=samples, sample_rate_hz=16_000, at=at)


class TestWhileItRuns:
    def test_a_session_is_in_the_log_with_its_people_and_its_end(self, tmp_path: Path) -> None:
        with laid_table(tmp_path / "log", "leaf two") as table:
            table.say("leaf two")
            table.run()
        session, incidents = the_session(tmp_path / "log")
        assert (session.handler, session.device) == ("Ida Fenn", "scripted microphone")
        assert session.began_at is not None
        assert session.ended_at is not None
        assert (session.broken_off, session.is_under_way, incidents) == (False, False, ())
        with open_log(tmp_path / "log") as log:
            assert {recording.session for recording in log.iter_recordings()} == {session.id}

    def test_a_gap_is_in_the_log_as_soon_as_sound_goes_on(self, tmp_path: Path) -> None:
        """Not only once the session has ended: it may never end in good order."""
        found: list[Incident] = []
        with laid_table(tmp_path / "log", "leaf two", "a map") as table:
            table.say("leaf two")
            table.do(lambda: table.source.skip(12.5))
            table.say("a map")
            table.wait_for(lambda: bool(table.recorded.sentences))
            table.do(lambda: found.extend(_read_incidents(tmp_path / "log")))
            table.run()
        (gap,) = found
        assert (gap.kind, gap.why) == (IncidentKind.GAP, NO_SOUND_CAME)
        assert gap.seconds == pytest.approx(12.5, abs=0.01)

    def test_a_pause_is_told_from_a_gap(self, tmp_path: Path) -> None:
        with laid_table(tmp_path / "log", "leaf two", "a map") as table:
            table.say("leaf two")
            for _ in range(2):
                table.do(lambda: table.session.press(Key.PAUSE) if table.session else None)
                table.source.steps += [SILENCE]
                table.wait_for(lambda: len(table.recorded.taken) in (2, 3))
            table.run()
        _, incidents = the_session(tmp_path / "log")
        assert [incident.kind for incident in incidents] == [IncidentKind.PAUSE]

    def test_a_microphone_that_never_came_back_leaves_a_gap_to_the_end(
        self, tmp_path: Path
    ) -> None:
        """There is no sound after it by which the recorder could measure it."""
        with laid_table(tmp_path / "log", "leaf two") as table:
            table.say("leaf two")
            away_since = []
            table.do(lambda: away_since.append(time.monotonic()))
            table.wait_for(lambda: bool(away_since) and time.monotonic() - away_since[0] > 1.5)
            table.do(lambda: table.session.finish() if table.session else None)
            table.wait_for(lambda: False)
            table.run()
        _, (gap,) = the_session(tmp_path / "log")
        assert (gap.kind, gap.why) == (IncidentKind.GAP, NO_SOUND_CAME)
        assert gap.seconds >= 1.5


class TestWhatACrashLeft:
    def crash(self, folder: Path, *, is_known: bool) -> None:
        """Record two seconds, a gap, another second; then nothing more happens, ever."""
        with open_log(folder) as log:
            watcher = RecorderWatcher(
                started=log.begin_session, begun=log.add_recording, sealed=log.seal_recording
            )
            recorder = Recorder(
                log.audio_folder, occasion=OCCASION, watcher=watcher if is_known else None
            )
            at = time.monotonic()
            for nth in (0, 1, 6):
                recorder.write(block(at + nth))
            recorder.sync()

    @pytest.mark.parametrize("is_known", [True, False], ids=["known", "unknown to the log"])
    def test_is_completed_from_the_journal(self, tmp_path: Path, *, is_known: bool) -> None:
        """People, gap, and an end: the last moment of which there is sound."""
        folder = tmp_path / "log"
        self.crash(folder, is_known=is_known)
        with open_log(folder) as log:
            settle(log)
            assert {recording.session for recording in log.iter_recordings()} != {None}
        session, (gap,) = the_session(folder)
        assert session.speakers == SPEAKERS
        assert (session.handler, session.device) == ("Ida Fenn", "headset")
        assert session.broken_off
        assert session.began_at is not None
        assert session.ended_at is not None
        lasted = datetime.fromisoformat(session.ended_at) - datetime.fromisoformat(session.began_at)
        assert timedelta(seconds=6.8) < lasted < timedelta(seconds=7.5)
        assert gap.seconds == pytest.approx(4.0, abs=0.01)

    def test_is_completed_once(self, tmp_path: Path) -> None:
        folder = tmp_path / "log"
        self.crash(folder, is_known=True)
        with open_log(folder) as log:
            assert len(find_unended_sessions(log)) == 1
            settle(log)
            assert find_unended_sessions(log) == ()
            before = list(log.iter_sessions()), log.find_incidents(next(log.iter_sessions()))
            settle(log)
            after = list(log.iter_sessions()), log.find_incidents(next(log.iter_sessions()))
        assert after == before

    def test_a_journal_torn_in_its_first_line_costs_no_sound(self, tmp_path: Path) -> None:
        """Its people are unknown then; its files are found all the same."""
        folder = tmp_path / "log"
        self.crash(folder, is_known=False)
        (journal,) = (folder / "audio").glob("*.jsonl")
        first, *others = journal.read_text(encoding="utf-8").splitlines(keepends=True)
        journal.write_text("".join([first[:20] + "\n", *others]), encoding="utf-8")
        with open_log(folder) as log:
            settle(log)
            assert list(log.iter_sessions()) == []
            assert [recording.duration_s for recording in log.iter_recordings()] == [2.0, 1.0]


def test_sleep_is_a_gap_and_a_clock_that_was_set_is_none(tmp_path: Path) -> None:
    """Suspended for an hour, then the clock is put back by ten minutes."""
    slept, was_set = [0.0], [0.0]
    clock = HurriedClock(1.0)
    true = clock.as_clocks()
    clocks = Clocks(
        monotonic=true.monotonic,
        boot=lambda: true.boot() + slept[0],
        wall=lambda: true.wall() + timedelta(seconds=slept[0] + was_set[0]),
    )
    folder = tmp_path / "log"
    with open_log(folder) as log:
        watcher = RecorderWatcher(
            started=log.begin_session, begun=log.add_recording, sealed=log.seal_recording
        )
        machine = Machine(clocks=clocks)
        with Recorder(
            log.audio_folder, occasion=OCCASION, watcher=watcher, machine=machine
        ) as recorder:
            recorder.write(block(0.0))
            slept[0] = 3600.0
            recorder.write(block(1.0))
            was_set[0] = -600.0
            recorder.write(block(2.0))
        settle(log)
    _, incidents = the_session(folder)
    assert [(incident.kind, round(incident.seconds), incident.why) for incident in incidents] == [
        (IncidentKind.GAP, 3600, SLEPT),
        (IncidentKind.CLOCK_SET, -600, ""),
    ]
