"""voicelog parse: typed notes, one on each line, into a log."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import cast

import click

from voicelog.cli.options import handler_option, json_option, throwaway_log_option
from voicelog.cli.taking import Reporter, bench_for, print_rows, reporting
from voicelog.errors import UnreadableNotes
from voicelog.session.typed import ByteStream, TypedSource, take_typed
from voicelog.settings import Settings, read_settings
from voicelog.wiring.bench import Bench

_TOLD_ONE_BY_ONE = 5


@click.command()
@click.argument(
    "files",
    metavar="NOTES.txt...",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path, allow_dash=True),
)
@throwaway_log_option
@json_option
@handler_option
def parse(
    files: tuple[Path, ...], folder: Path | None, handler: str | None, *, as_json: bool
) -> int:
    """Take typed notes, one on each line, into a log.

    "-" reads standard input. Without --log a throwaway log is used: the rows are shown
    and nothing is kept.
    """
    settings = read_settings(overrides={"handler": handler})
    with reporting() as reporter, _kept_or_not(folder) as place:
        with bench_for(place, settings, reporter) as bench:
            complete = [_take_file(file, bench, settings, reporter) for file in files]
            print_rows(bench.log, settings, reporter, as_json=as_json)
        if folder is not None:
            noun = "note" if reporter.notes == 1 else "notes"
            reporter.say(f"{reporter.notes} {noun} taken into {folder}.")
        elif not as_json:
            reporter.say("Nothing was kept; --log DIR keeps the notes.")
    return 0 if all(complete) else 1


def _take_file(file: Path, bench: Bench, settings: Settings, reporter: Reporter) -> bool:
    """Take one file; return whether all of it was usable."""
    left_out = 0

    def tell_left_out(reason: UnreadableNotes) -> None:
        nonlocal left_out
        left_out += 1
        if left_out <= _TOLD_ONE_BY_ONE:
            reporter.say(str(reason))

    name = "standard input" if str(file) == "-" else str(file)
    reporter.begin(name)
    try:
        with _opened(file) as stream:
            source = TypedSource(name=name, stream=stream, handler=settings.handler or None)
            take_typed(source, bench.scribe, on_taken=reporter.took, on_left_out=tell_left_out)
    except UnreadableNotes as failure:
        reporter.say(str(failure))
        return False
    if left_out > _TOLD_ONE_BY_ONE:
        reporter.say(f"{left_out - _TOLD_ONE_BY_ONE} more lines of {name} were left out as well.")
    return left_out == 0


@contextmanager
def _opened(file: Path) -> Iterator[ByteStream]:
    if str(file) == "-":
        yield cast("ByteStream", sys.stdin.buffer)
        return
    try:
        stream = file.open("rb")
    except OSError as failure:
        reason = (failure.strerror or "unknown reason").lower()
        raise UnreadableNotes(
            f"{file} can't be read ({reason}); name a text file with one note on each line.",
            source=str(file),
        ) from failure
    with stream:
        yield stream


@contextmanager
def _kept_or_not(folder: Path | None) -> Iterator[Path]:
    if folder is not None:
        yield folder
        return
    with tempfile.TemporaryDirectory(prefix="voicelog-") as throwaway:
        yield Path(throwaway) / "log"
