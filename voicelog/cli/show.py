"""voicelog show: the log as a table."""

from __future__ import annotations

from pathlib import Path

import click

from voicelog.cli.options import json_option, log_option
from voicelog.cli.table import TableOptions, print_log
from voicelog.cli.terminal import make_console, say, write_json_lines
from voicelog.domain.entry import format_entry_record
from voicelog.settings import read_settings
from voicelog.store.log import Log


@click.command()
@log_option
@json_option
@click.option("--all", "include_void", is_flag=True, help="Show void entries as well.")
@click.option(
    "--find",
    "words",
    metavar="WORDS",
    help="Only entries with all of these words in caption, remark or what was heard.",
)
@click.option("--provenance", is_flag=True, help="Say where every value came from.")
def show(
    folder: Path, *, as_json: bool, include_void: bool, words: str | None, provenance: bool
) -> int:
    """Show a log as a table."""
    settings = read_settings()
    with Log.open(folder) as log, log.standing_still():
        entries = (
            log.iter_entries(include_void=include_void)
            if words is None
            else log.iter_worded(words, include_void=include_void)
        )
        if as_json:
            write_json_lines(
                format_entry_record(entry, number=number, provenance=provenance)
                for number, entry in entries
            )
            return 0
        options = TableOptions(
            spelling=settings.spelling, provenance=provenance, include_void=include_void
        )
        if print_log(entries, make_console(), options, log=log) == 0:
            say(
                f"The log {folder} holds no entries yet."
                if words is None
                else f"No entry of the log {folder} has these words."
            )
    return 0
