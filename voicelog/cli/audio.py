"""voicelog audio: what becomes of the sound behind the notes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.table import Table
from rich.text import Text

from voicelog.cli.options import log_option
from voicelog.cli.terminal import make_console, safe, say
from voicelog.domain.retention import format_retention
from voicelog.session.retention import SoundVerdict, judge_sound, remove_sound
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog
from voicelog.wiring import MADE_BY


@click.group()
def audio() -> None:
    """Remove sound that need not be kept any longer."""


@audio.command("prune")
@log_option
@click.option("--dry-run", is_flag=True, help="Say what would go, and remove nothing.")
def prune(folder: Path, *, dry_run: bool) -> int:
    """Remove the sound that the setting audio_retention no longer keeps.

    The words that were heard, their times and the entries stay, and the log says when the
    sound of which recording was removed, and by which rule. It can't be brought back.
    """
    retention = read_settings().audio_retention
    now = datetime.now(UTC)
    if dry_run:
        with Log.open(folder) as log:
            verdicts = judge_sound(log, retention, now=now)
    else:
        # Looked at first, so that a mistyped folder doesn't become a new log.
        Log.open(folder).close()
        with WritableLog.open_to_write(folder, made_by=MADE_BY) as log:
            verdicts = judge_sound(log, retention, now=now)
            remove_sound(log, verdicts, retention)
    _print_verdicts(verdicts, going="goes" if dry_run else "removed")
    going = [verdict for verdict in verdicts if verdict.goes]
    size_bytes = sum(verdict.size_bytes for verdict in going)
    say(
        f"By the rule '{format_retention(retention)}' the sound of {_say_count(going)} "
        f"{'would be removed' if dry_run else 'was removed'} ({size_bytes:,} bytes); "
        f"{len(verdicts) - len(going)} kept. Notes and entries stay."
    )
    return 0


def _print_verdicts(verdicts: Iterable[SoundVerdict], *, going: str) -> None:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("recording", overflow="fold")
    table.add_column("size", justify="right", no_wrap=True)
    table.add_column("sound", no_wrap=True)
    table.add_column("why", overflow="fold", ratio=1)
    for verdict in verdicts:
        table.add_row(
            Text(safe(verdict.recording.file)),
            Text(f"{verdict.size_bytes / 1e6:.1f} MB"),
            Text(going if verdict.goes else "stays", style="bold" if verdict.goes else ""),
            Text(safe(verdict.why)),
        )
    if table.row_count:
        make_console().print(table)


def _say_count(going: list[SoundVerdict]) -> str:
    return "1 recording" if len(going) == 1 else f"{len(going)} recordings"
