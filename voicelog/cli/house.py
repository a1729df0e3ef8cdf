"""voicelog house: box, interleaving, envelopes, folders, supplies, and who needs care first."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from voicelog.cli.house_guide import GuideOptions, write_guides
from voicelog.cli.house_paper import make_order, print_alignment_page, print_order
from voicelog.cli.house_table import HousePrinter
from voicelog.cli.options import json_option, log_option, scans_option
from voicelog.cli.terminal import make_console, say, write_json_lines
from voicelog.errors import UsageError
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.plan import plan_volumes
from voicelog.housing.records import format_records
from voicelog.housing.supplies import list_supplies
from voicelog.housing.triage import rank_volumes
from voicelog.housing.volumes import HousedVolume, group_by_volume, without_private_words
from voicelog.settings import Settings, read_settings
from voicelog.store.log import Log
from voicelog.vocabulary.loading import load_cautions
from voicelog.wiring.closing import find_scans
from voicelog.wiring.housing import make_label_layout, make_stock, make_triage_parts
from voicelog.wiring.reading import make_vocabulary

F = TypeVar("F", bound=Callable[..., Any])


def pdf_option(name: str, help_: str) -> Callable[[F], F]:
    """Return an option that names a PDF to write."""
    return click.option(
        name, type=click.Path(path_type=Path), default=None, metavar="OUT.pdf", help=help_
    )


@click.command()
@log_option
@json_option
@click.option(
    "--volume",
    "wanted",
    multiple=True,
    metavar="NAME",
    help="Only this volume, by its number or the donor's name; may be repeated.",
)
@pdf_option("--labels", "Labels for envelopes and folders, on label sheets.")
@pdf_option("--paper", "Box labels, a bench page for each volume, slips, the list of labels.")
@click.option(
    "--guide",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A rebuild guide for each volume, as HTML and PDF, into this folder.",
)
@scans_option
@pdf_option("--ranking", "The volumes by their need of care, as a picture.")
@pdf_option("--alignment", "A page to try the printer with before labels are used.")
@click.option("--layout", metavar="NAME", help="The label sheet; else the setting label_layout.")
@click.option(
    "--skip",
    type=click.IntRange(min=0),
    default=0,
    metavar="N",
    help="Labels of the first sheet that were used before.",
)
@click.option(
    "--entries", metavar="LIST", help="Labels for these entries only, for example 12-18,21."
)
@click.option("--preview", is_flag=True, help="A picture of each first page, beside the PDF.")
@click.option(
    "--include-restricted",
    is_flag=True,
    help="Print what restricted entries say, not only where they belong.",
)
def house(
    folder: Path,
    *,
    as_json: bool,
    wanted: tuple[str, ...],
    include_restricted: bool,
    guide: Path | None,
    scan_folders: tuple[str, ...],
    **paper: Any,
) -> int:
    """Work out box, interleaving, envelopes, labels and supplies.

    With --labels, --paper, --guide, --ranking or --alignment it writes these files instead of
    showing the plan.
    """
    settings = read_settings()
    stock = make_stock(settings)
    parts = make_triage_parts(settings)
    order = make_order(make_label_layout(settings, paper.pop("layout")), **paper)
    if order.alignment is not None:
        print_alignment_page(order, order.alignment)
        if guide is None and not order.needs_a_log and not as_json:
            return 0
    with Log.open(folder) as log:
        volumes = choose_volumes(group_by_volume(log.iter_entries()), wanted)
        scans = find_scans(log, scan_folders, settings) if scan_folders else None
    if not include_restricted:
        volumes = without_private_words(volumes)
    plans = plan_volumes(volumes, stock, load_interleaving_rules())
    supplies = list_supplies((plan.needs() for plan in plans), stock)
    ranking = rank_volumes(volumes, parts)
    cautions = load_cautions()
    if not volumes:
        say(f"The log {folder} holds no entries yet.")
    if order.needs_a_log:
        print_order(order, plans, ranking, make_vocabulary(settings))
    if guide is not None:
        write_guides(
            guide,
            plans,
            cautions,
            GuideOptions(
                repository=settings.repository,
                size_mm=order.page_mm,
                scans=scans,
                include_restricted=include_restricted,
            ),
        )
    if as_json:
        write_json_lines(
            format_records(plans, supplies, ranking, cautions=cautions, currency=stock.currency)
        )
    elif guide is None and not order.needs_a_log:
        printer = HousePrinter(make_console(), cautions)
        for plan in plans:
            printer.print_plan(plan)
        printer.print_supplies(supplies, stock.currency)
        if len(ranking) > 1:
            printer.print_ranking(ranking)
    return 0


def write_paper(log: Log, folder: Path, settings: Settings) -> tuple[str, ...]:
    """Write labels, box paper and rebuild guides of a log into a folder; return their names.

    Raises:
        StoreError: one of them can't be written.
    """
    names = ("labels.pdf", "box-paper.pdf", "guides")
    stock = make_stock(settings)
    volumes = without_private_words(group_by_volume(log.iter_entries()))
    plans = plan_volumes(volumes, stock, load_interleaving_rules())
    order = make_order(
        make_label_layout(settings),
        labels=folder / names[0],
        paper=folder / names[1],
        ranking=None,
        alignment=None,
        skip=0,
        entries=None,
        preview=False,
    )
    print_order(order, plans, (), make_vocabulary(settings))
    write_guides(
        folder / names[2],
        plans,
        load_cautions(),
        GuideOptions(repository=settings.repository, size_mm=order.page_mm),
    )
    return names


def choose_volumes(
    volumes: tuple[HousedVolume, ...], wanted: tuple[str, ...]
) -> tuple[HousedVolume, ...]:
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


def _names(volume: HousedVolume) -> set[str | None]:
    name = volume.name
    return {volume.volume, name, name.removeprefix("the ") if name else None, volume.title}
