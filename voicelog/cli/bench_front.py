"""How a live session is shown: a screen where there is a terminal, else line by line."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

from rich.console import Console
from rich.live import Live
from rich.text import Text

from voicelog.cli.bench_screen import BenchScreen
from voicelog.cli.table import describe_briefly
from voicelog.cli.terminal import make_console, safe, say
from voicelog.session.live.desk import Taken
from voicelog.session.live.view import View

_REDRAW_S = 0.25
"""A screen that moves more often than this is no calm one."""


class Front(Protocol):
    """Anything that shows how a session goes."""

    def show(self, view: View) -> None:
        """Show this moment."""

    def take(self, taken: Taken, after_s: float | None) -> None:
        """A note was taken down."""

    def say(self, sentence: str) -> None:
        """Something that should not be missed."""


@contextmanager
def open_front(console: Console | None = None) -> Iterator[Front]:
    """Give what suits the place: a screen on a terminal, lines elsewhere."""
    console = console or make_console()
    if not console.is_terminal:
        yield Lines(console)
        return
    front = Screen(console)
    try:
        with _silent_standard_error(), front.live:
            yield front
    finally:
        for sentence in front.sentences:
            say(sentence)


class Screen:
    """The whole terminal, redrawn a few times a second and after every note.

    Attributes:
        live: shows it while its ``with`` block runs.
        sentences: what was said that should not be missed, for when the screen is gone.
    """

    def __init__(self, console: Console) -> None:
        self.live = Live(console=console, screen=True, auto_refresh=False)
        self.sentences: list[str] = []
        self._drawn_at = 0.0
        self._taken = 0

    def show(self, view: View) -> None:
        """Show this moment, unless the last one was shown just now."""
        now = time.monotonic()
        if view.taken != self._taken or now - self._drawn_at >= _REDRAW_S:
            self._taken, self._drawn_at = view.taken, now
            self.live.update(BenchScreen(view), refresh=True)

    def take(self, taken: Taken, after_s: float | None) -> None:
        """Do nothing more: the note is on the screen."""

    def say(self, sentence: str) -> None:
        """Keep a sentence; the screen shows it as well."""
        if sentence not in self.sentences:
            self.sentences.append(sentence)


class Lines:
    """One line for each note and each row, for a pipe or a file."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def show(self, view: View) -> None:
        """Do nothing: what matters comes line by line."""

    def take(self, taken: Taken, after_s: float | None) -> None:
        """Print a note and what became of it."""
        del after_s
        lines = [f"{taken.note.number:>4}  “{taken.note.text}”"]
        lines += [f"      {describe_briefly(entry)}" for entry in taken.entries]
        lines += [f"      ? {doubt}" for doubt in taken.new_doubts]
        for line in lines:
            self._console.print(Text(safe(line)), soft_wrap=True)

    def say(self, sentence: str) -> None:
        """Say it on standard error."""
        say(sentence)


@contextmanager
def _silent_standard_error() -> Iterator[None]:
    """Keep what sound libraries complain about from being written across the screen."""
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
