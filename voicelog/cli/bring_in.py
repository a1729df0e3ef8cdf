"""voicelog bring-in: what was logged at another bench becomes part of a log."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from voicelog.cli.options import json_option, log_option
from voicelog.cli.terminal import say, write_json_lines
from voicelog.session.bringing_in.bringing import BroughtIn
from voicelog.settings import read_settings
from voicelog.wiring.bench import bring_in_bag, foresee_bag


@click.command("bring-in")
@click.argument("bag", type=click.Path(path_type=Path), metavar="BAG")
@log_option
@json_option
@click.option("--dry-run", is_flag=True, help="Say what would come, and change nothing.")
def bring_in(bag: Path, folder: Path, *, as_json: bool, dry_run: bool) -> int:
    """Bring a bag from another bench into a log.

    BAG is its folder or its ZIP file. A volume that was continued there is put together with
    ours, place by place. Where the two benches say something different, ours stays and the
    entry is queried, with both values. The same bag again brings nothing twice. A bag that is
    damaged or strange is refused whole.
    """
    brought = foresee_bag(folder, bag) if dry_run else bring_in_bag(folder, bag, read_settings())
    if as_json:
        write_json_lines([_format_record(brought)])
    _tell(brought, bag, dry_run=dry_run)
    return 0


def _format_record(brought: BroughtIn) -> dict[str, Any]:
    conflicts = [
        {
            "id": conflict.entry,
            "field": conflict.field,
            "place": conflict.place,
            "message": conflict.message,
        }
        for conflict in brought.conflicts
    ]
    return {**asdict(brought), "twice": list(brought.twice), "conflicts": conflicts}


def _tell(brought: BroughtIn, bag: Path, *, dry_run: bool) -> None:
    for conflict in brought.conflicts:
        end = "" if conflict.message.endswith("?") else "."
        say(f"{conflict.place}: {conflict.message}{end}")
    for file in brought.twice:
        say(
            f"The recording {file} was taken in at both benches; its notes are here twice now, "
            "and what they gave is queried."
        )
    if brought.is_nothing and not brought.conflicts:
        say(f"Everything in {bag} is here already; nothing was changed.")
        return
    parts = [
        _count(brought.notes, "note", "notes"),
        _count(brought.entries, "new entry", "new entries"),
        _count(brought.united, "entry united with one of ours", "entries united with ours"),
        _count(brought.changed, "entry of ours changed", "entries of ours changed"),
        _count(brought.recordings, "recording", "recordings"),
        f"{brought.sounds} of them with sound" if brought.recordings else "",
    ]
    verb = "would come" if dry_run else "came"
    say(f"From {bag} {verb}: {', '.join(filter(None, parts)) or 'only doubts'}.")
    if brought.conflicts:
        would = "would be" if dry_run else "are"
        say(
            f"{_count(len(brought.conflicts), 'conflict', 'conflicts')} between the two benches "
            f"{would} queried in the log; look at them in the review."
        )


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}" if number else ""
