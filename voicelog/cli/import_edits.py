"""voicelog import-edits: a table that was exported and edited, back into the log."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from voicelog.cli.options import json_option, log_option
from voicelog.cli.table import describe_briefly
from voicelog.cli.terminal import make_console, safe, say, write_json_lines
from voicelog.errors import UsageError
from voicelog.exports.tables.edited import read_edited
from voicelog.review.table_edits import EditPlan, RowEdits, TableEdits
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.wiring.review import make_reviewer

_INDENT = 4


@click.command("import-edits")
@click.argument("table", type=click.Path(path_type=Path), metavar="FILE")
@log_option
@json_option
@click.option("--by", default="", metavar="NAME", help="Who edited; else the setting handler.")
@click.option("--dry-run", is_flag=True, help="Say what would change, and change nothing.")
def import_edits(table: Path, folder: Path, *, as_json: bool, by: str, dry_run: bool) -> int:
    """Take in a table that was exported and edited.

    The table is a csv or xlsx that was exported from the same log. Every changed cell becomes an
    act of review, with who, when, before and after. A table goes in as a whole: if a row can't
    go in, it says why and changes nothing. Rows that are not in the table stay as they are.

    An entry is moved by its leaf and side, reordered by its item. What follows from other values
    (number, doubts, cautions) is passed over; kind, relations, and who said it when are changed in
    the review or not at all. Status may become confirmed, void, or of a confirmed entry heard.
    """
    settings = read_settings()
    name = by or settings.handler
    if not name:
        raise UsageError("Say who edited the table, with --by or in the setting handler.")
    rows = read_edited(table)
    edits = TableEdits(make_reviewer(folder, settings, by=name))
    with Log.open(folder) as log:
        plan = edits.plan(rows, log.iter_stored(include_void=True))
    if as_json:
        write_json_lines(_format_record(row) for row in plan.edits)
    else:
        _print(plan, make_console())
    for problem in plan.problems:
        say(f"Row {problem.line}: {problem.message}")
    if plan.problems:
        say(f"{_count(len(plan.problems), 'row')} can't go in, so nothing was changed.")
        return 1
    if not dry_run:
        edits.apply(plan)
    say(_sum_up(plan, dry_run=dry_run))
    return 0


def _print(plan: EditPlan, console: Console) -> None:
    for row in plan.edits:
        title = f"entry {row.stored.number}, {describe_briefly(row.stored.entry)}"
        console.print(Text(safe(title), style="bold"))
        for line in _describe(row):
            console.print(Padding(Text(safe(line), overflow="fold"), (0, 0, 0, _INDENT)))


def _describe(row: RowEdits) -> list[str]:
    lines = [f"{cell.field}: {_say(cell.before)} → {_say(cell.after)}" for cell in row.cells]
    if row.status:
        lines.append(f"status: {row.stored.entry.status} → {row.status}")
    return lines


def _say(value: Any) -> str:
    match value:
        case None | []:
            return "nothing"
        case str():
            return value
        case list():
            return ", ".join(str(part) for part in value)
        case _:
            return json.dumps(value)


def _format_record(row: RowEdits) -> dict[str, Any]:
    fields = {cell.field: {"before": cell.before, "after": cell.after} for cell in row.cells}
    if row.status:
        fields["status"] = {"before": str(row.stored.entry.status), "after": str(row.status)}
    return {"id": row.stored.entry.id, "entry": row.stored.number, "fields": fields}


def _sum_up(plan: EditPlan, *, dry_run: bool) -> str:
    if not plan.edits:
        return f"{_count(plan.rows, 'row')} read; nothing in them differs from the log."
    values = sum(len(row.cells) + bool(row.status) for row in plan.edits)
    would = "would change" if dry_run else "changed"
    return (
        f"{_count(plan.rows, 'row')} read; {_count(values, 'value')} of "
        f"{_count(len(plan.edits), 'entry', 'entries')} {would}."
    )


def _count(number: int, noun: str, plural: str = "") -> str:
    return f"{number} {noun if number == 1 else plural or noun + 's'}"
