"""Who hears many recordings: processes of this machine."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing.connection import wait
from multiprocessing.synchronize import Event
from typing import Protocol

from voicelog.session.bulk.task import HeardRecording, HearingTask, hear, should_stop

# Not "fork": the log's database is open in this process, and no child may inherit that.
_CONTEXT = multiprocessing.get_context("spawn")


class Crew(Protocol):
    """Whoever hears recordings, several at once."""

    @property
    def size(self) -> int:
        """How many are heard at once."""

    @property
    def name(self) -> str:
        """What they are, in words, behind "by": "2 processes"."""

    @property
    def is_elsewhere(self) -> bool:
        """Whether they may be on other machines."""

    def submit(self, task: HearingTask) -> Future[HeardRecording]:
        """Have a recording heard as soon as somebody is free."""

    def is_deadly(self, failure: BaseException) -> bool:
        """Whether it is certain that this very recording ended whoever heard it."""

    def recover(self) -> None:
        """Make ready again after a process died and took the others with it."""

    def stop(self) -> None:
        """Ask all to leave it at what they have heard."""


class ProcessCrew:
    """Processes of this machine, started as there is work for them."""

    is_elsewhere = False

    def __init__(self, size: int) -> None:
        self.size = size
        self.name = "1 process" if size == 1 else f"{size} processes"
        self._stop = _CONTEXT.Event()
        self._pool = self._make_pool()

    def submit(self, task: HearingTask) -> Future[HeardRecording]:
        """Have a recording heard as soon as a process is free."""
        return self._pool.submit(hear, task)

    def is_deadly(self, failure: BaseException) -> bool:
        """Return False: when one process dies, the work of all of them fails alike."""
        del failure
        return False

    def recover(self) -> None:
        """Start new processes in the place of those that ended."""
        self._pool.shutdown(cancel_futures=True)
        self._pool = self._make_pool()

    def stop(self) -> None:
        """Ask all processes to stop after the note that they are hearing."""
        self._stop.set()

    def close(self) -> None:
        """End the processes after the note that they are hearing."""
        self.stop()
        self._pool.shutdown(cancel_futures=True)

    def _make_pool(self) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            max_workers=self.size,
            mp_context=_CONTEXT,
            initializer=_begin_process,
            initargs=(self._stop,),
        )


@contextmanager
def hired_processes(size: int) -> Iterator[ProcessCrew]:
    """Give processes that hear recordings; they end when the work does.

    Args:
        size: how many recordings are heard at once.
    """
    crew = ProcessCrew(size)
    try:
        yield crew
    finally:
        crew.close()


def _begin_process(stop: Event) -> None:
    # Ctrl-C at a terminal reaches every process; only the one that owns the log decides.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    should_stop.set(stop.is_set)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End this process when the one that started it is gone, killed perhaps."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
