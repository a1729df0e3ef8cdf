"""voicelog house: box, interleaving, envelopes, folders, supplies, and who needs care first."""

from __future__ import annotations

from pathlib import Path

import click

from voicelog.cli.house_table import HousePrinter
from voicelog.cli.options import json_option, log_option
from voicelog.cli.terminal import make_console, say, write_json_lines
from voicelog.errors import UsageError
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.plan import plan_volumes
from voicelog.housing.records import format_records
from voicelog.housing.supplies import list_supplies
from voicelog.housing.triage import rank_volumes
from voicelog.housing.volumes import VolumeLog, group_by_volume
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.vocabulary.loading import load_cautions
from voicelog.wiring import make_stock, make_triage_parts


@click.command()
@log_option
@json_option
@click.option(
    "--volume",
    "wanted",
    multiple=True,
    metavar="NAME",
    help="Only this volume, by its number or the donor's name; may be given again.",
)
def house(folder: Path, *, as_json: bool, wanted: tuple[str, ...]) -> int:
    """Work out box, interleaving, envelopes, folders and supplies for the volumes of a log."""
    settings = read_settings()
    stock = make_stock(settings)
    parts = make_triage_parts(settings)
    with Log.open(folder) as log:
        volumes = choose_volumes(group_by_volume(log.iter_entries()), wanted)
    plans = plan_volumes(volumes, stock, load_interleaving_rules())
    supplies = list_supplies((plan.needs() for plan in plans), stock)
    ranking = rank_volumes(volumes, parts)
    cautions = load_cautions()
    if as_json:
        write_json_lines(
            format_records(plans, supplies, ranking, cautions=cautions, currency=stock.currency)
        )
        return 0
    if not volumes:
        say(f"The log {folder} holds no entries yet.")
        return 0
    printer = HousePrinter(make_console(), cautions)
    for plan in plans:
        printer.print_plan(plan)
    printer.print_supplies(supplies, stock.currency)
    if len(ranking) > 1:
        printer.print_ranking(ranking)
    return 0


def choose_volumes(
    volumes: tuple[VolumeLog, ...], wanted: tuple[str, ...]
) -> tuple[VolumeLog, ...]:
    """Return the volumes that were asked for, all of them where none was named.

    Raises:
        UsageError: there is no such volume.
    """
    if not wanted:
        return volumes
    chosen = []
    for name in wanted:
        found = [volume for volume in volumes if name in _names(volume)]
        if not found:
            there = ", ".join(repr(volume.title) for volume in volumes) or "none"
            raise UsageError(f"There is no volume {name!r} in this log; there is {there}.")
        chosen += found
    return tuple(volume for volume in volumes if volume in chosen)


def _names(volume: VolumeLog) -> set[str | None]:
    name = volume.name
    return {volume.volume, name, name.removeprefix("the ") if name else None, volume.title}
