"""``voicelog review`` as somebody starts it in a terminal."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Self

from tests.review.pages.site import REVIEWER


class Command:
    """The command on a log, in a process of its own.

    Attributes:
        address: what it printed to be opened.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._process: subprocess.Popen[str] | None = None
        self.address = ""

    def __enter__(self) -> Self:
        arguments = ("review", "--log", str(self._folder), "--no-browser", "--reviewer", REVIEWER)
        self._process = subprocess.Popen(
            (sys.executable, "-m", "voicelog", *arguments),
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            text=True,
        )
        assert self._process.stderr is not None
        # What is wrong with a plug-in is said before the address.
        told = next((line for line in self._process.stderr if "http://" in line), "")
        assert told, "the command ended without an address"
        self.address = told.split()[-1]
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.kill()

    def interrupt(self) -> int:
        """Press Ctrl-C and return the exit status."""
        assert self._process is not None
        self._process.send_signal(signal.SIGINT)
        return self._process.wait(60)

    def kill(self) -> None:
        """Take the process away without a word."""
        assert self._process is not None
        self._process.kill()
        self._process.wait(60)
        assert self._process.stderr is not None
        self._process.stderr.close()
