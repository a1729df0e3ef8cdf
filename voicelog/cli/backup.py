"""voicelog backup: a whole log copied, while others work with it, and the copy verified."""

from __future__ import annotations

from pathlib import Path

import click

from voicelog.cli.log_damage import showing_bytes
from voicelog.cli.options import log_option
from voicelog.cli.terminal import say
from voicelog.store.backup import Backup
from voicelog.wiring.keeping import back_up_log


@click.command()
@log_option
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    metavar="PATH",
    help="The folder of the copy; it must not be there yet.",
)
def backup(folder: Path, target: Path) -> int:
    """Copy a whole log, while others work with it, and verify the copy.

    The copy is a log itself: any command can read it, and to restore a log, copy it back.
    Others may speak, transcribe or review meanwhile; the copy is the log as it stood at one
    moment.
    """
    with showing_bytes(folder, "reading the copy again") as on_bytes:
        made = back_up_log(folder, target, on_bytes=on_bytes)
    say(f"{folder} is backed up at {target}: {_describe(made)}; all of it was read again.")
    for damage in made.damage:
        say(f"{damage.message} It was copied as it is.")
    if made.damage:
        say(
            "Everything else is as the log knows it. Keep your earlier backups: they may have "
            "these recordings as they were."
        )
    return 1 if made.damage else 0


def _describe(made: Backup) -> str:
    parts = [
        _count(made.notes, "note", "notes"),
        _count(made.entries, "entry", "entries"),
        _count(made.acts, "act of review", "acts of review"),
        _count(made.recordings, "recording", "recordings"),
    ]
    size = f"{made.size_bytes / 1e6:.1f} MB"
    growing = " (one of them still being recorded, as far as it was)" if made.growing else ""
    return f"{', '.join(parts)}{growing}, {size}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"
