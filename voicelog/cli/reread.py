"""voicelog reread: all notes of a log, read again with today's vocabulary and settings."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from voicelog.cli.options import json_option, log_option
from voicelog.cli.table import describe_briefly
from voicelog.cli.terminal import make_console, safe, say, write_json_lines
from voicelog.session.rereading import EntryChange, FieldChange, Outcome, Rereading
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.wiring.bench import open_bench, try_rereading

_STYLES = {
    Outcome.NEW: "green",
    Outcome.CHANGED: "yellow",
    Outcome.VOID: "red",
    Outcome.KEPT: "cyan",
}
_INDENT = 4


@click.command()
@log_option
@click.option("--dry-run", is_flag=True, help="Say what would change, and change nothing.")
@json_option
def reread(folder: Path, *, dry_run: bool, as_json: bool) -> int:
    """Read all notes of a log again with today's vocabulary and settings.

    Confirmed entries stay as they are; those that would have changed are listed. What an
    entry was before is kept in the log's revisions.
    """
    settings = read_settings()
    if dry_run:
        rereading, kept = try_rereading(folder, settings)
    else:
        # A log is begun where there is none by taking notes, never by reading.
        with Log.open(folder):
            pass
        with open_bench(folder, settings, afresh=True) as bench:
            rereading, kept = bench.rereading, bench.kept
    for sentence in kept:
        say(sentence)
    if as_json:
        write_json_lines(_format_record(change) for change in rereading.changes)
    else:
        _print_changes(rereading, make_console())
    say(_sum_up(rereading, dry_run=dry_run))
    return 0


def _print_changes(rereading: Rereading, console: Console) -> None:
    for change in rereading.changes:
        number = "" if change.number is None else f"entry {change.number}, "
        console.print(
            Text.assemble(
                (f"{change.outcome:<8}", _STYLES[change.outcome]),
                safe(f"{number}{describe_briefly(change.entry)}"),
            )
        )
        if change.outcome is Outcome.NEW:
            continue
        for line in _describe_fields(change):
            console.print(Padding(Text(safe(line), overflow="fold"), (0, 0, 0, _INDENT)))


def _describe_fields(change: EntryChange) -> Iterator[str]:
    if change.outcome is Outcome.KEPT:
        yield "It is confirmed and stays as it is; a reading would have changed:"
    if not change.fields:
        yield "The values are the same; only the words they come from changed."
    for field in change.fields:
        yield _describe_field(field)


def _describe_field(field: FieldChange) -> str:
    return f"{field.field}: {_describe_value(field.before)} → {_describe_value(field.after)}"


def _describe_value(value: Any) -> str:
    match value:
        case None | []:
            return "nothing"
        case bool():
            return "yes" if value else "no"
        case list():
            return ", ".join(_describe_value(part) for part in value)
        case dict():
            return json.dumps(value, ensure_ascii=False)
        case float():
            return f"{value:g}"
        case _:
            return str(value)


def _format_record(change: EntryChange) -> dict[str, Any]:
    return {
        "id": change.entry.id,
        "entry": change.number,
        "outcome": str(change.outcome),
        "fields": {
            field.field: {"before": field.before, "after": field.after} for field in change.fields
        },
    }


def _sum_up(rereading: Rereading, *, dry_run: bool) -> str:
    notes = f"{rereading.notes} {'note' if rereading.notes == 1 else 'notes'} read again"
    changed = rereading.changed
    entries = "entry" if changed == 1 else "entries"
    would = "would change" if dry_run else "changed"
    text = f"{notes}: {changed or 'no'} {entries} {would}"
    if rereading.kept:
        noun = "confirmed entry stays" if rereading.kept == 1 else "confirmed entries stay"
        text += f", {rereading.kept} {noun} as decided"
    return f"{text}."
