"""One writer at a time: a lock that ends with the process that holds it."""

from __future__ import annotations

import fcntl
import os
import socket
import time
from pathlib import Path

from voicelog.errors import LogBusy
from voicelog.store.folder import LOCK_NAME

_BETWEEN_TRIES_S = 0.01


class WriterLock:
    """The right to write to one log.

    The system drops the lock when the process ends, however it ends, so nothing is
    ever left locked. The file only exists while somebody writes; it names the writer
    for the sake of whoever is turned away.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / LOCK_NAME
        self._descriptor: int | None = None

    def acquire(self, *, wait_s: float = 0.0) -> None:
        """Take the lock.

        Args:
            wait_s: how long to wait for another process to give it back.

        Raises:
            LogBusy: another process holds it; the sentence says which.
        """
        give_up_at = time.monotonic() + wait_s
        while self._descriptor is None:
            descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
            try:
                fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                holder = os.pread(descriptor, 500, 0).decode("utf-8", "replace").strip()
                os.close(descriptor)
                if time.monotonic() >= give_up_at:
                    raise self._busy(holder) from None
                time.sleep(_BETWEEN_TRIES_S)
                continue
            except BaseException:
                os.close(descriptor)
                raise
            if self._is_current(descriptor):
                self._descriptor = descriptor
            else:
                # The last writer removed the file between our open and our lock.
                os.close(descriptor)
        os.ftruncate(self._descriptor, 0)
        os.pwrite(self._descriptor, f"process {os.getpid()} on {socket.gethostname()}".encode(), 0)

    def release(self) -> None:
        """Give the lock back; harmless when it isn't held."""
        if self._descriptor is not None:
            # Removed while still locked, so that nobody can lock a file about to vanish.
            self._path.unlink(missing_ok=True)
            os.close(self._descriptor)
            self._descriptor = None

    def _is_current(self, descriptor: int) -> bool:
        try:
            there = self._path.stat()
        except FileNotFoundError:
            return False
        ours = os.fstat(descriptor)
        return (there.st_dev, there.st_ino) == (ours.st_dev, ours.st_ino)

    def _busy(self, holder: str) -> LogBusy:
        return LogBusy(
            f"Another voicelog ({holder or 'just starting'}) is writing to {self._path.parent}; "
            "wait until it is done, or close it, then try again."
        )
