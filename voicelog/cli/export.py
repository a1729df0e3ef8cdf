"""voicelog export: the entries as a file for other programs."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TextIO

import click

from voicelog.cli.options import log_option
from voicelog.cli.terminal import say
from voicelog.domain.entry import Entry
from voicelog.exports.csv_table import write_csv
from voicelog.exports.json_lines import write_json_lines
from voicelog.exports.selection import Selection
from voicelog.exports.target import new_file
from voicelog.store.log import Log

Writer = Callable[[Iterable[tuple[int, Entry]], TextIO], int]


def writers() -> dict[str, Writer]:
    """Return the formats that can be written."""
    return {"csv": write_csv, "jsonl": write_json_lines}


@click.command()
@click.argument("format_", metavar="FORMAT", type=click.Choice(sorted(writers())))
@log_option
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    metavar="PATH",
    help="The file to write; one that is there is replaced.",
)
@click.option(
    "--include-restricted", is_flag=True, help="Write entries with restricted access as well."
)
def export(format_: str, folder: Path, target: Path, *, include_restricted: bool) -> int:
    """Write the entries to a file for other programs (FORMAT: csv or jsonl)."""
    with Log.open(folder) as log:
        count, left_out = write_export(log, format_, target, include_restricted=include_restricted)
    say(f"{count} {'entry' if count == 1 else 'entries'} written to {target}.")
    if left_out:
        say(
            f"{left_out} restricted {'entry was' if left_out == 1 else 'entries were'} left out; "
            "--include-restricted writes them too."
        )
    return 0


def write_export(
    log: Log, format_: str, target: Path, *, include_restricted: bool
) -> tuple[int, int]:
    """Write a log to a file; return how many entries were written and left out."""
    selection = Selection(log.iter_entries(), include_restricted=include_restricted)
    with new_file(target) as stream:
        count = writers()[format_](selection, stream)
    return count, selection.left_out
