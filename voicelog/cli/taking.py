"""What transcribe, parse and demo share: saying how it goes, and the rows afterwards."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console
from rich.progress import Progress, TaskID
from rich.text import Text

from voicelog.cli.table import TableOptions, print_log
from voicelog.cli.terminal import (
    make_console,
    make_message_console,
    make_progress,
    safe,
    write_json_lines,
)
from voicelog.domain.entry import Entry, format_entry_record
from voicelog.domain.note import Note
from voicelog.settings import Settings
from voicelog.store.log import Log
from voicelog.wiring.bench import Bench, open_bench


class Reporter:
    """Tells on standard error how the work goes on, with a bar where a person watches.

    Attributes:
        notes: how many notes were stored so far.
        touched: the ids of the entries they made or changed.
    """

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._task: TaskID | None = None
        self.notes = 0
        self.touched: set[str] = set()

    def say(self, message: str) -> None:
        """Say one sentence without disturbing the bar."""
        self._progress.console.print(Text(safe(message)), soft_wrap=True)

    def begin(self, title: str) -> None:
        """Begin a new stretch of work."""
        if self._task is not None:
            self._progress.remove_task(self._task)
        self._task = self._progress.add_task(safe(title), total=None)

    def reached(self, reached_s: float, duration_s: float | None) -> None:
        """Move the bar."""
        if self._task is not None:
            self._progress.update(self._task, completed=reached_s, total=duration_s)

    def took(self, _note: Note, entries: tuple[Entry, ...]) -> None:
        """Count a stored note and remember which entries it touched."""
        self.notes += 1
        self.touched.update(entry.id for entry in entries)


@contextmanager
def reporting(console: Console | None = None) -> Iterator[Reporter]:
    """Give a reporter on standard error, or on the console that shows the results.

    Its bar is gone when the work is done.
    """
    with make_progress(console or make_message_console()) as progress:
        yield Reporter(progress)


@contextmanager
def bench_for(folder: Path, settings: Settings, reporter: Reporter) -> Iterator[Bench]:
    """Open a log for writing and say what is worth knowing about it."""
    reporter.begin("Opening the log")
    with open_bench(folder, settings) as bench:
        if changed := bench.rereading.changed:
            reporter.say(
                f"{changed} earlier {'entry is' if changed == 1 else 'entries are'} read "
                "differently now; what was there before is kept in the log's revisions."
            )
        for sentence in bench.kept:
            reporter.say(sentence)
        yield bench


def print_rows(log: Log, settings: Settings, reporter: Reporter, *, as_json: bool) -> None:
    """Print the whole log as JSON lines, or the entries that this run touched as a table."""
    if as_json:
        write_json_lines(
            format_entry_record(entry, number=number) for number, entry in log.iter_entries()
        )
        return
    touched = (pair for pair in log.iter_entries() if pair[1].id in reporter.touched)
    print_log(touched, make_console(), TableOptions(spelling=settings.spelling), log=log)
