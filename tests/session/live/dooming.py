"""What programs of doomed children share: who is killed when, and what must survive it.

Such a program forks one child for each seed, lets it work for a while and sends SIGKILL. What
a child had said and taken down by then, it wrote into a mapped file, which survives it.
"""

from __future__ import annotations

import mmap
import os
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tests.session.live.bench import ROOT
from voicelog.session.live.growing_wav import Sync

RATE_HZ = 16_000
_TALLY = struct.Struct("<QQ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What had happened when the kill came: samples said, notes taken down."""

    said: int
    notes: int


def read_tally(place: Path) -> Tally:
    said, notes = _TALLY.unpack((place / "tally").read_bytes())
    return Tally(said=said, notes=notes)


class KeptTally:
    """Counts, in memory that survives the process, what was said and what was taken down."""

    def __init__(self, place: Path) -> None:
        with (place / "tally").open("r+b") as file:
            self._memory = mmap.mmap(file.fileno(), _TALLY.size)
        self.said = 0
        self.notes = 0

    def say(self, samples: int) -> None:
        self.said += samples
        self._write()

    def take(self) -> None:
        self.notes += 1
        self._write()

    def _write(self) -> None:
        self._memory[:] = _TALLY.pack(self.said, self.notes)


class ShadowDisk:
    """A second disk that holds exactly what was brought to the first by an fsync.

    A file's content is kept by its inode, a folder's names as they were when the folder
    was brought to the disk: what a power cut leaves in the strictest reading of POSIX.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        folder.mkdir(exist_ok=True)

    def __call__(self, descriptor: int) -> None:
        path = Path(f"/proc/self/fd/{descriptor}").readlink()
        if path.is_dir():
            names = "\n".join(f"{entry.inode()} {entry.name}" for entry in os.scandir(path))
            self._keep("names", names.encode())
        else:
            self._keep(str(os.fstat(descriptor).st_ino), path.read_bytes())

    def _keep(self, name: str, content: bytes) -> None:
        unready = self._folder / f"{name}.unready"
        unready.write_bytes(content)
        unready.rename(self._folder / name)


class Life(Protocol):
    """How long a child lives."""

    @property
    def is_over(self) -> bool:
        """Whether the kill comes now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fate:
    """What children do, and how they end.

    Attributes:
        work: works in a place, with a seed and a way to bring what was written to the disk, until
            the end of the world.
        begin_life: says of a child that was just born when it ends.
        at_once: how many live at the same time.
    """

    work: Callable[[Path, int, Sync], None]
    begin_life: Callable[[Path, int], Life]
    at_once: int


def run_as_program(fate: Fate) -> None:
    """Do what :func:`let_die` asks for on the command line: a child for each seed, and its end."""
    folder, start, stop, how = sys.argv[1:]
    waiting = list(range(int(start), int(stop)))
    living: dict[int, Life] = {}
    while waiting or living:
        while waiting and len(living) < fate.at_once:
            seed = waiting.pop()
            place = Path(folder, str(seed))
            place.mkdir()
            (place / "tally").write_bytes(bytes(_TALLY.size))
            child = os.fork()
            if child == 0:
                fate.work(place, seed, ShadowDisk(place / "shadow") if how == "power" else os.fsync)
                os._exit(1)
            living[child] = fate.begin_life(place, seed)
        time.sleep(0.001)
        for child in [child for child, life in living.items() if life.is_over]:
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
                sys.exit(f"A child ended by itself: {os.waitstatus_to_exitcode(status)}.")
            del living[child]


def let_die(program: str, folder: Path, seeds: range, how: str) -> Path:
    """Run a program of doomed children, so that nothing else shares their process.

    Args:
        program: its module.
        folder: where each seed gets a place of its own.
        seeds: one for each child.
        how: ``kill``, or ``power`` where a shadow disk is to be kept as well.
    """
    done = subprocess.run(
        (
            *(sys.executable, "-m", program),
            *(folder, str(seeds.start), str(seeds.stop), how),
        ),
        cwd=ROOT,
        env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        check=False,
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr[-2_000:]
    return folder
