"""voicelog exports: what left the house, when, and as which bytes."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click
from rich.table import Table
from rich.text import Text

from voicelog.cli.options import json_option, log_option
from voicelog.cli.terminal import make_console, safe, say, write_json_lines
from voicelog.store.export_record import ExportRecord
from voicelog.store.log import Log


@click.command()
@log_option
@json_option
def exports(folder: Path, *, as_json: bool) -> int:
    """List what left the house, when, and with which checksum."""
    with Log.open(folder) as log:
        records = tuple(log.iter_exports())
    if as_json:
        write_json_lines(asdict(record) for record in records)
    elif not records:
        say(f"Nothing was exported from the log {folder} yet.")
    else:
        _print(records)
    return 0


def _print(records: tuple[ExportRecord, ...]) -> None:
    table = Table(box=None, pad_edge=False)
    for title in ("made at", "format", "name", "entries", "also in it", "SHA-256"):
        table.add_column(title, justify="right" if title == "entries" else "left", overflow="fold")
    for record in records:
        table.add_row(
            record.made_at,
            record.format,
            Text(safe(record.name)),
            str(record.entries),
            _describe(record),
            "\n".join(file.sha256[:16] for file in record.files[:1])
            + (f" and {len(record.files) - 1} more" if len(record.files) > 1 else ""),
        )
    make_console().print(table)


def _describe(record: ExportRecord) -> str:
    parts = [
        "restricted" if record.include_restricted else "",
        "unconfirmed" if record.include_unconfirmed else "",
        f"changes since {record.changed_since}" if record.changed_since else "",
    ]
    return ", ".join(part for part in parts if part)
