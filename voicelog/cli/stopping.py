"""Ctrl-C, once to finish what is in hand, twice to stop at once."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def stopping(say: Callable[[str], None]) -> Iterator[Callable[[], bool]]:
    """Give what tells whether somebody wants the work to stop.

    Meanwhile the first Ctrl-C only says so; the second is a KeyboardInterrupt as ever.

    Args:
        say: says a sentence to the person at the keyboard.
    """
    asked = threading.Event()

    def ask(_signal: int, _frame: FrameType | None) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()
        say("Finishing the notes that are being heard; Ctrl-C again stops at once.")

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)
