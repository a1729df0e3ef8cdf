"""Faults in whole sessions: recorder, detector, recogniser, reader and log together.

| fault | what must survive |
|---|---|
| SIGKILL at 40 random instants (seeded) | all sound but for a second, notes taken down, files |
| power cut at 8 random instants (seeded) | the same, of what was synced |
| microphone away, and back | all notes; the gap is on record and was announced |
| microphone away in the middle of a note | what was said of it; all other notes |
| computer asleep | all notes; the gap is on record |
| clock put forward, put back | all notes and all sound; the jump is on record |
| recogniser fails once | all notes, none twice |
| recogniser fails on a note whatever happens | all notes, that one after the next start |
| second session on the same log | it is turned away; the first goes on |
| disk nearly full (reading injected) | all notes until then; a warning, then an end in good order |
| disk really full (small file system) | all notes until then, and the rest when there is room |

In each of them: no note lost that had been taken down, none twice, no file that is not
whole. The recogniser is a double; `test_listen.py` has a kill, a second session and a
microphone with the real one. More kills: ``python -m tests.benchmarks.live.faults``.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import pytest

from tests.session.live.bench import (
    ROOT,
    SILENCE,
    ScriptedSource,
    Table,
    laid_table,
    spoken_sounds,
)
from tests.session.live.bench_day import BySound
from tests.session.live.conftest import do_without
from tests.session.live.doomed_session import make_reader
from tests.session.live.dooming import RATE_HZ, read_tally
from tests.session.live.reading import read_wav
from tests.session.live.surviving import cut_power
from tests.session.live.survivors import check_files, let_sessions_die, start_again
from voicelog.errors import DiskFull, LogBusy, SourceLost
from voicelog.extraction.reader import Reader
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.live.clocks import Clocks
from voicelog.session.live.options import Outcome
from voicelog.session.live.recovery import hear_unfinished, settle
from voicelog.session.live.session_files import Machine
from voicelog.session.live.sources import ReturningSource, SoundSource
from voicelog.session.live.view import State
from voicelog.store.sessions import Incident, IncidentKind
from voicelog.store.writing import WritableLog

KILLS = range(40)
POWER_CUTS = range(1_000, 1_008)
MOST_LOST_S = 1.0

SAID = (
    "accession 2031-007",
    "leaf two",
    "a postcard, photo corners, lifting",
    "a ticket",
    "turn over",
    "two snapshots",
)


@pytest.fixture(scope="module")
def reader() -> Reader:
    return make_reader()


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("killed-sessions")
    let_sessions_die(folder, KILLS, "kill")
    return folder


@pytest.fixture(scope="module")
def cut_off(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sessions-cut-off")
    let_sessions_die(folder, POWER_CUTS, "power")
    for seed in POWER_CUTS:
        cut_power(folder / str(seed), headers_made_it=seed % 2 == 0)
    return folder


class TestKill:
    """SIGKILL at a random instant, also while a session is just beginning."""

    @pytest.mark.parametrize("seed", KILLS)
    def test_nothing_but_a_second_of_sound_is_lost(
        self, killed: Path, seed: int, reader: Reader
    ) -> None:
        assert start_again(killed / str(seed), seed, reader).lost_s <= MOST_LOST_S

    def test_there_was_something_to_lose(self, killed: Path) -> None:
        """Else the test above would prove nothing."""
        tallies = [read_tally(killed / str(seed)) for seed in KILLS]
        assert sum(tally.said > RATE_HZ for tally in tallies) > len(KILLS) / 2
        assert any(tally.notes for tally in tallies)


class TestPowerCut:
    """Of the sound, only what an fsync had brought to the disk is left.

    The database is left as the process wrote it: SQLite syncs each transaction itself, and
    a log that knows more than the sound is the harder case.
    """

    @pytest.mark.parametrize("seed", POWER_CUTS)
    def test_nothing_but_a_second_of_sound_is_lost(
        self, cut_off: Path, seed: int, reader: Reader
    ) -> None:
        assert start_again(cut_off / str(seed), seed, reader).lost_s <= MOST_LOST_S


@dataclass(slots=True, kw_only=True)
class World:
    """The machine around a session, in which things go wrong.

    Attributes:
        table: the bench.
        recogniser: what hears at it.
        slept_s: for how long the computer has slept.
        set_by_s: by how much its clock was set.
        free_bytes: room on its disk.
    """

    table: Table
    recogniser: BySound = field(default_factory=lambda: BySound(spoken_sounds(), SAID))
    slept_s: float = 0.0
    set_by_s: float = 0.0
    free_bytes: int = 10_000_000_000
    turned_away: list[LogBusy] = field(default_factory=list)

    @property
    def machine(self) -> Machine:
        true = Clocks()
        return Machine(
            clocks=Clocks(
                monotonic=true.monotonic,
                boot=lambda: true.boot() + self.slept_s,
                wall=lambda: true.wall() + timedelta(seconds=self.slept_s + self.set_by_s),
            ),
            free_bytes=lambda _folder: self.free_bytes,
        )

    def microphone(self) -> ReturningSource:
        """A microphone, which is looked for again when it has gone."""

        def lose(loss: SourceLost) -> None:
            if self.table.session is not None:
                self.table.session.lose_source(loss)

        def regain(source: SoundSource) -> None:
            if self.table.session is not None:
                self.table.session.regain_source(source.name)

        return ReturningSource(
            lambda: self.table.source, on_lost=lose, on_return=regain, retry_s=0.2
        )

    def unplug(self) -> None:
        # What is said until somebody plugs it in again is said to nobody.
        self.table.source.skip(20.0)
        raise SourceLost("The microphone was unplugged.")

    def sleep(self) -> None:
        # The clock by which sound comes stands still meanwhile.
        self.slept_s += 3600.0

    def set_clock(self, by_s: float) -> None:
        self.set_by_s += by_s

    def begin_second_session(self) -> None:
        try:
            WritableLog.open_to_write(self.table.bench.log.folder, made_by="a second session")
        except LogBusy as failure:
            self.turned_away.append(failure)


Fault = Callable[[World], None]


def fail_once(world: World) -> None:
    world.recogniser.failing_once.add(SAID[3])


def fail_always(world: World) -> None:
    world.recogniser.failing.add(SAID[3])


def put_clock_forward(world: World) -> None:
    world.set_by_s += 86_400.0


def put_clock_back(world: World) -> None:
    world.set_by_s -= 3600.0


NOTHING: tuple[tuple[IncidentKind, int], ...] = ()
FAULTS: tuple[tuple[str, Fault, tuple[tuple[IncidentKind, int], ...]], ...] = (
    ("microphone away and back", World.unplug, ((IncidentKind.GAP, 20),)),
    ("computer asleep for an hour", World.sleep, ((IncidentKind.GAP, 3600),)),
    ("clock put forward a day", put_clock_forward, ((IncidentKind.CLOCK_SET, 86_400),)),
    ("clock put back an hour", put_clock_back, ((IncidentKind.CLOCK_SET, -3600),)),
    ("recogniser fails once", fail_once, NOTHING),
    ("recogniser fails on a note", fail_always, NOTHING),
    ("second session begins", World.begin_second_session, NOTHING),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aftermath:
    """What a session with a fault in it left, once the next start has done its part."""

    world: World
    outcome: Outcome
    texts: tuple[str, ...]
    incidents: tuple[Incident, ...]


def listen(world: World) -> Outcome:
    """Run a session until it ends."""
    with world.microphone() as source:
        return world.table.run(machine=world.machine, source=source)


def start_again_at(world: World) -> list[str]:
    """Do what `voicelog listen` does first, with a recogniser that is well again.

    Returns:
        the texts of all notes in the log.
    """
    world.recogniser.failing.clear()
    bench = world.table.bench
    hearing = Hearing(recogniser=world.recogniser, segments=SegmentOptions())
    hear_unfinished(settle(bench.log), bench.scribe, hearing)
    check_files(bench.log)
    return [note.text for note in bench.log.iter_notes()]


def finish(table: Table) -> None:
    """End the session by hand, as a person would: a microphone never ends."""
    table.do(lambda: table.session.finish() if table.session else None)
    table.wait_for(lambda: False)


@contextmanager
def laid_world(folder: Path) -> Iterator[World]:
    with laid_table(folder, *SAID) as table:
        world = World(table=table)
        table.recogniser = world.recogniser
        yield world


def suffer(folder: Path, fault: Fault) -> Aftermath:
    """Say three notes, let the fault happen, say three more, finish, and start again."""
    with laid_world(folder) as world:
        table = world.table
        table.say(*SAID[:3])
        table.wait_for_notes(3)
        table.do(lambda: fault(world))
        table.say(*SAID[3:])
        finish(table)
        outcome = listen(world)
        texts = start_again_at(world)
        (session,) = table.bench.log.iter_sessions()
        return Aftermath(
            world=world,
            outcome=outcome,
            texts=tuple(texts),
            incidents=table.bench.log.find_incidents(session),
        )


class TestFaults:
    @pytest.mark.parametrize(
        ("fault", "on_record"),
        [(fault, on_record) for _, fault, on_record in FAULTS],
        ids=[name for name, _, _ in FAULTS],
    )
    def test_every_note_is_in_the_log_once_and_the_fault_is_on_record(
        self,
        tmp_path: Path,
        fault: Fault,
        on_record: tuple[tuple[IncidentKind, int], ...],
    ) -> None:
        aftermath = suffer(tmp_path / "log", fault)
        # What was heard only at the next start comes after what was heard before.
        assert sorted(aftermath.texts) == sorted(SAID)
        recorded = tuple((one.kind, round(one.seconds)) for one in aftermath.incidents)
        assert recorded == on_record
        assert aftermath.outcome.failure is None

    def test_a_lost_microphone_is_announced_and_its_return_too(self, tmp_path: Path) -> None:
        recorded = suffer(tmp_path / "log", World.unplug).world.table.recorded
        assert recorded.sentences[:2] == [
            "The microphone was unplugged.",
            "The microphone scripted microphone is back; recording goes on.",
        ]
        assert recorded.sentences[2].startswith("20.0 s of sound are missing (no sound came)")
        assert State.LOST in {view.state for view in recorded.views}
        assert recorded.views[-1].state is not State.LOST

    def test_a_microphone_lost_in_a_word_keeps_the_beginning(self, tmp_path: Path) -> None:
        """The first half is in the files; said again, the note is there once."""
        sound = spoken_sounds()[3]
        with laid_world(tmp_path / "log") as world:
            table = world.table
            table.source.steps += [sound[: len(sound) // 2]]
            table.do(world.unplug)
            table.say(SAID[3])
            finish(table)
            listen(world)
            texts = start_again_at(world)
        (first, _) = sorted((tmp_path / "log" / "audio").glob("*.wav"))
        assert texts == [SAID[3]]
        assert len(read_wav(first)) == len(sound) // 2

    def test_a_second_session_is_turned_away(self, tmp_path: Path) -> None:
        aftermath = suffer(tmp_path / "log", World.begin_second_session)
        assert len(aftermath.world.turned_away) == 1


class TestDisk:
    def test_nearly_full(self, tmp_path: Path) -> None:
        """Warned at 500 MB, ended at 50 MB; with room again the log goes on."""
        with laid_world(tmp_path / "log") as world:
            table = world.table
            table.say(*SAID[:2])
            table.wait_for_notes(2)
            table.do(lambda: setattr(world, "free_bytes", 400_000_000))
            table.say(SAID[2])
            table.wait_for_notes(3)
            table.do(lambda: setattr(world, "free_bytes", 40_000_000))
            table.source.steps += [SILENCE, SILENCE]
            outcome = listen(world)
            assert isinstance(outcome.failure, DiskFull)
            assert table.recorded.sentences[0].startswith("Only 400 MB are left on the disk")
            assert table.recorded.sentences[-1].startswith("Only 40 MB are left on the disk")
            assert start_again_at(world) == list(SAID[:3])
            world.free_bytes = 10_000_000_000
            table.source = ScriptedSource()
            table.say(*SAID[3:])
            finish(table)
            listen(world)
            assert start_again_at(world) == list(SAID)

    def test_really_full(self, tmp_path: Path) -> None:
        """A small file system of our own; the process itself checks what is left on it."""
        unshare = ("unshare", "--mount", "--map-root-user")
        if shutil.which("unshare") is None:
            do_without("no unshare (util-linux) here")
        try_mount = (*unshare, "mount", "-t", "tmpfs", "small", "/mnt")
        if subprocess.call(try_mount, stderr=subprocess.DEVNULL):
            pytest.skip("the kernel of this machine lets nobody mount a small file system")
        program = "tests.session.live.full_disk"
        script = f'mount -t tmpfs -o size=53m small "$1" && exec "$2" -m {program} "$1"'
        done = subprocess.run(
            (*unshare, "sh", "-c", script, "sh", tmp_path, sys.executable),
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
            timeout=600,
        )
        assert done.returncode == 0, done.stderr
        said_before, said_after = map(int, done.stdout.split())
        assert said_before >= 5
        assert said_after >= 5
