"""Real processes with a real recogniser: the same rows, whatever is killed meanwhile."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.session.bulk.clips import cut_clips, read_rows
from voicelog.store.folder import DATABASE_NAME
from voicelog.store.log import Log

ROOT = Path(__file__).parents[3]
PATIENCE_S = 240  # also on a machine that does ten other things


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return cut_clips(tmp_path_factory.mktemp("clips"), count=5)


def command(*arguments: object) -> list[str]:
    return [sys.executable, "-m", "voicelog", *map(str, arguments), "--engine", "whisper"]


def surroundings() -> dict[str, str]:
    # One thread each, as in two processes on two cores: sums must be made in the same order.
    return {**os.environ, "PYTHONPATH": str(ROOT), "VOICELOG_THREADS": "1"}


def transcribe(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command("transcribe", *arguments, "--json"),
        env=surroundings(),
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
    )


def begin(*arguments: object) -> subprocess.Popen[str]:
    """Start a run in a process group of its own, as a terminal does."""
    return subprocess.Popen(
        command("transcribe", *arguments),
        env=surroundings(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def wait_for(is_so: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE_S
    while not is_so():
        assert time.monotonic() < until, "it never came to that"
        time.sleep(0.05)


def has_notes(log_folder: Path) -> bool:
    if not (log_folder / DATABASE_NAME).exists():
        return False
    try:
        with Log.open(log_folder) as log:
            return log.count_notes() > 0
    except Exception:  # noqa: BLE001 - it is just being made
        return False


def hearing_processes(parent: int) -> list[int]:
    """Return the processes that a run has started to hear, by their command line."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
            spoken = (stat.parent / "cmdline").read_bytes()
        except OSError:
            continue
        if int(fields[1]) == parent and b"spawn_main" in spoken:
            found.append(int(stat.parent.name))
    return found


@pytest.fixture(scope="module")
def expected(clips: list[Path], tmp_path_factory: pytest.TempPathFactory) -> list[Any]:
    """The rows of one process that hears one recording after the other."""
    log = tmp_path_factory.mktemp("alone") / "log"
    ended = transcribe(*clips, "--log", log, "--jobs", 1)
    assert ended.returncode == 0, ended.stderr
    rows = read_rows(log)
    assert len(rows[0]) == len(clips)
    return rows


@pytest.fixture
def killed(tmp_path: Path, clips: list[Path]) -> Iterator[subprocess.Popen[str]]:
    """A run with two processes that has stored its first note."""
    running = begin(*clips, "--log", tmp_path / "log", "--jobs", 2)
    wait_for(lambda: has_notes(tmp_path / "log") or running.poll() is not None)
    yield running
    running.kill()
    running.wait()
    assert running.stderr is not None
    running.stderr.close()


def test_two_processes_give_the_rows_of_one_and_say_how_it_went(
    clips: list[Path], tmp_path: Path, expected: list[Any]
) -> None:
    """Entries on standard output; on standard error a line for each, the factor, the share."""
    letter = tmp_path / "letter.wav"
    letter.write_text("Dear members of the club, " * 50)
    log = tmp_path / "log"
    ended = transcribe(*clips, letter, "--log", log, "--jobs", 2)
    assert ended.returncode == 1
    assert read_rows(log) == expected
    assert [json.loads(line)["entry"] for line in ended.stdout.splitlines()]
    for clip in clips:
        assert ended.stderr.count(f"{clip.name}: ") == 1
    assert f"{letter} is not a sound recording" in ended.stderr
    assert "The recordings don't say when they were made; they are read by name." in ended.stderr
    assert " by 2 processes: real-time factor " in ended.stderr
    assert " % of the time spent in the bare recogniser." in ended.stderr
    assert transcribe("--log", log).returncode == 2


def test_both_ears_hear_in_other_processes_too(clips: list[Path], tmp_path: Path) -> None:
    """The default engine: the plan of how to make it travels."""
    log = tmp_path / "log"
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "voicelog",
            "transcribe",
            *map(str, clips[:2]),
            "--jobs",
            "2",
            "--log",
            str(log),
        ],
        env=surroundings(),
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
    )
    assert done.returncode == 0, done.stderr
    with Log.open(log) as opened:
        assert {note.engine for note in opened.iter_notes()} == {"both"}


def test_after_a_kill_nobody_hears_on_and_the_next_run_has_the_same_rows(
    killed: subprocess.Popen[str], tmp_path: Path, clips: list[Path], expected: list[Any]
) -> None:
    """SIGKILL of the process that owns the log: the others end by themselves."""
    others = hearing_processes(killed.pid)
    killed.kill()
    killed.communicate()
    wait_for(lambda: not any(Path(f"/proc/{pid}").exists() for pid in others))
    ended = transcribe(*clips, "--log", tmp_path / "log", "--jobs", 2)
    assert ended.returncode == 0, ended.stderr
    assert read_rows(tmp_path / "log") == expected


def test_a_killed_hearing_process_costs_nothing(
    killed: subprocess.Popen[str], tmp_path: Path, expected: list[Any]
) -> None:
    """As when the kernel runs out of memory: another is started, and it is heard again."""
    for pid in hearing_processes(killed.pid)[:1]:
        os.kill(pid, signal.SIGKILL)
    _, said = killed.communicate(timeout=PATIENCE_S)
    assert killed.returncode == 0, said
    assert read_rows(tmp_path / "log") == expected


def test_ctrl_c_keeps_what_is_heard_and_says_how_to_go_on(
    killed: subprocess.Popen[str], tmp_path: Path, expected: list[Any]
) -> None:
    """The whole group is told, as by a terminal; then a run that names nothing goes on."""
    log = tmp_path / "log"
    os.killpg(killed.pid, signal.SIGINT)
    _, said = killed.communicate(timeout=PATIENCE_S)
    if killed.returncode != 0:  # Not too late for it.
        assert killed.returncode == 130, said
        assert f"'voicelog transcribe --log {log}'" in said
        ended = transcribe("--log", log, "--jobs", 2)
        assert ended.returncode == 0, ended.stderr
    assert "Traceback" not in said
    assert read_rows(log) == expected
