"""A work laid out once, and cut off many times: by a kill, or by a disk that is full.

Each case is a process of its own, forked from one that has everything loaded; it counts what it
reported as kept in memory that survives it.
"""

from __future__ import annotations

import mmap
import os
import random
import shutil
import signal
import struct
import threading
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.session.faults.works import Work, check_after
from voicelog.errors import StoreError

_TALLY = struct.Struct("<QB")
_LONGEST_S = 120.0
_DONE, _REFUSED, _FAILED = 0, 3, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One time that a work was cut off.

    Attributes:
        reported: how much had been reported as kept.
        was_over: whether the work was over before.
    """

    reported: int
    was_over: bool


class Scaffold:
    """A work laid out once, and what it comes to when nothing happens.

    Args:
        work: the work.
        folder: an empty folder on the disk on which it is done.
    """

    def __init__(self, work: Work, folder: Path) -> None:
        self.work = work
        self._folder = folder
        self._before = folder / "before"
        self._before.mkdir(parents=True)
        work.prepare(self._before)
        place = self._lay_out("undisturbed")
        self.steps = 0

        def count() -> None:
            self.steps += 1

        began_at = time.monotonic()
        with _watching_room(folder) as least:
            work.run(place, count)
        self.lasts_s = time.monotonic() - began_at
        self.needs_bytes = least.taken_bytes
        self.expected = work.outcome(place)
        shutil.rmtree(place)

    def kill(self, seed: int) -> Case:
        """Kill the work at an instant that the seed decides, and check what is left.

        The kill comes some time after so much was reported, so that a slow machine lets works
        come as far as a fast one.
        """
        place = self._lay_out("case")
        chance = random.Random(f"{self.work.name} {seed}")
        after = chance.randrange(self.steps + 1) if self.steps > 1 else 0
        rest_s = chance.uniform(0.0, self.lasts_s / max(1, self.steps) * 1.2)
        with mmap.mmap(-1, _TALLY.size) as tally:
            child = self._begin(place, tally)
            _wait_until(tally, after)
            time.sleep(rest_s)
            os.kill(child, signal.SIGKILL)
            ended, case = _end(child, tally)
        assert ended in {_DONE, -signal.SIGKILL}, f"seed {seed}: the work itself failed ({ended})"
        return self._check(place, case)

    def starve(self, free_bytes: int) -> Case:
        """Do the work on a disk with so little room, check what is left, and make room again."""
        place = self._lay_out("case")
        ballast = self._folder / "ballast"
        filling = shutil.disk_usage(self._folder).free - free_bytes
        with ballast.open("wb") as file:
            if filling > 0:
                os.posix_fallocate(file.fileno(), 0, filling)
        try:
            with mmap.mmap(-1, _TALLY.size) as tally:
                ended, case = _end(self._begin(place, tally), tally)
        finally:
            ballast.unlink()
        assert ended in {_DONE, _REFUSED}, f"{free_bytes} bytes: the work itself failed ({ended})"
        return self._check(place, case)

    def _check(self, place: Path, case: Case) -> Case:
        check_after(self.work, place, case.reported, expected=self.expected)
        shutil.rmtree(place)
        return case

    def _lay_out(self, name: str) -> Path:
        """Return a place in which everything is as it is before the work."""
        place = self._folder / name
        shutil.copytree(self._before, place)
        return place

    def _begin(self, place: Path, tally: mmap.mmap) -> int:
        """Do the work in a process of its own."""
        child = os.fork()
        if child:
            return child
        reported = 0

        def report() -> None:
            nonlocal reported
            reported += 1
            tally[:] = _TALLY.pack(reported, 0)

        try:
            self.work.run(place, report)
            tally[:] = _TALLY.pack(reported, 1)
        except StoreError:
            os._exit(_REFUSED)  # One sentence, as the command would say it.
        except BaseException:  # noqa: BLE001 - the parent is told by the status
            traceback.print_exc()
            os._exit(_FAILED)
        os._exit(_DONE)


def cut_off_all(
    works: Sequence[Work], folder: Path, cut_off: Callable[[Scaffold], Sequence[Case]]
) -> None:
    """Cut every work off in every way asked for, and print a line for each work."""
    for work in works:
        scaffold = Scaffold(work, folder / work.name)
        cases = cut_off(scaffold)
        cut = [case for case in cases if not case.was_over]
        print(  # noqa: T201 - what the measurements are run for
            f"{work.name:11} {len(cases):4} cases, {len(cut):4} of them before it was over, after "
            f"0 to {max((case.reported for case in cut), default=0)} of {scaffold.steps} things "
            "reported; nothing lost, nothing twice",
            flush=True,
        )
        shutil.rmtree(folder / work.name)


@dataclass(slots=True)
class _Room:
    taken_bytes: int = 0


@contextmanager
def _watching_room(folder: Path) -> Iterator[_Room]:
    """Find out how much room is taken at most; a write-ahead log is gone in the end."""
    free = shutil.disk_usage(folder).free
    room = _Room()
    is_over = threading.Event()

    def watch() -> None:
        while not is_over.wait(0.002):
            room.taken_bytes = max(room.taken_bytes, free - shutil.disk_usage(folder).free)

    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        yield room
    finally:
        is_over.set()
        watcher.join()


def _end(child: int, tally: mmap.mmap) -> tuple[int, Case]:
    _, status = os.waitpid(child, 0)
    reported, was_over = _TALLY.unpack(tally[:])
    return os.waitstatus_to_exitcode(status), Case(reported=reported, was_over=bool(was_over))


def _wait_until(tally: mmap.mmap, reported: int) -> None:
    give_up_at = time.monotonic() + _LONGEST_S
    while time.monotonic() < give_up_at:
        count, was_over = _TALLY.unpack(tally[:])
        if count >= reported or was_over:
            return
        time.sleep(0.0005)
