"""voicelog export: the entries as a file for other programs."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click

from voicelog.checks.scans.scan_set import ScanSet
from voicelog.cli.options import log_option, scans_option
from voicelog.cli.terminal import say
from voicelog.errors import UsageError
from voicelog.exports.formats import Format, choose_format
from voicelog.exports.handing_over import HandedOver, hand_over
from voicelog.exports.selection import SelectionRules
from voicelog.settings import Settings, read_settings
from voicelog.store.log import Log
from voicelog.wiring import MADE_BY
from voicelog.wiring.closing import find_scans
from voicelog.wiring.handing_over import make_consignment
from voicelog.wiring.plug_ins import all_formats

LAST = "last"


class _ExportCommand(click.Command):
    """Lists the formats under the help, one line each."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        del ctx
        with formatter.section("Formats"):
            formatter.write_dl([(each.name, each.summary) for each in all_formats()])


def _find_format(ctx: click.Context, param: click.Parameter, name: str) -> Format:
    """Look the format up when it is given: plug-ins are not loaded for help on other things."""
    try:
        return choose_format(name, all_formats())
    except UsageError as failure:
        raise click.BadParameter(str(failure), ctx, param) from failure


@click.command(cls=_ExportCommand)
@click.argument("format_", metavar="FORMAT", callback=_find_format)
@log_option
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    metavar="PATH",
    help="What to write; a file that is there is replaced, a folder must be new or empty.",
)
@click.option(
    "--include-restricted", is_flag=True, help="Write entries with restricted access as well."
)
@click.option(
    "--include-unconfirmed",
    is_flag=True,
    help="Write entries that nobody has confirmed as well, marked as such.",
)
@scans_option
@click.option("--include-audio", is_flag=True, help="Put the recordings into a bag, too.")
@click.option(
    "--changed-since",
    metavar="WHEN",
    help="Write only what changed since a date or time (2031-05-01, 2031-05-01T14:30), or since "
    "the last export in this format (last).",
)
def export(  # noqa: PLR0913 - one for each option
    format_: Format,
    folder: Path,
    target: Path,
    scan_folders: tuple[str, ...],
    *,
    include_restricted: bool,
    include_unconfirmed: bool,
    include_audio: bool,
    changed_since: str | None,
) -> int:
    """Write the entries to a file for other programs.

    Only entries that are confirmed and open leave, unless more is asked for. The log keeps a
    record of every export: voicelog exports.
    """
    settings = read_settings()
    if include_audio and not format_.takes_audio:
        raise UsageError("Only a bag takes recordings along; leave --include-audio out.")
    if scan_folders and not format_.takes_scans:
        raise UsageError("Only IIIF manifests name scans; leave --scans out.")
    with Log.open(folder) as log:
        since = None if changed_since is None else find_moment(log, format_, changed_since)
        rules = SelectionRules(
            include_restricted=include_restricted,
            include_unconfirmed=include_unconfirmed,
            include_audio=include_audio,
            changes=None if since is None else log.changes_since(since),
        )
        scans = find_scans(log, scan_folders, settings) if scan_folders else None
        made = export_log(log, format_, target, settings, rules, changed_since=since, scans=scans)
    _tell(made, format_, target)
    return 0


def export_log(  # noqa: PLR0913 - all that an export is made of
    log: Log,
    format_: Format,
    target: Path,
    settings: Settings,
    rules: SelectionRules,
    *,
    changed_since: str | None = None,
    scans: ScanSet | None = None,
) -> HandedOver:
    """Write a log to a file or folder in a format, and have that recorded."""
    rules = replace(rules, whole_volumes=format_.whole_volumes, kinds=format_.kinds)
    consignment = make_consignment(log, settings, rules, scans=scans)
    return hand_over(consignment, format_, target, made_by=MADE_BY, changed_since=changed_since)


def find_moment(log: Log, format_: Format, text: str) -> str:
    """Return the moment that --changed-since names, in UTC.

    Raises:
        UsageError: it is no date or time, or there was no such export yet.
    """
    if text == LAST:
        made = [record for record in log.iter_exports() if record.format == format_.name]
        if not made:
            raise UsageError(
                f"This log records no export as {format_.name} yet; leave --changed-since out "
                "for the first one, or name a date."
            )
        # What changed at that very moment left already.
        return _format_moment(datetime.fromisoformat(made[-1].as_of) + timedelta(milliseconds=1))
    try:
        # Without a zone it is meant as the clock on the wall shows it.
        moment = datetime.fromisoformat(text).astimezone(UTC)
    except ValueError:
        raise UsageError(
            f"{text!r} is no date or time; write 2031-05-01, 2031-05-01T14:30 or last."
        ) from None
    return _format_moment(moment)


def _format_moment(moment: datetime) -> str:
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _tell(made: HandedOver, format_: Format, target: Path) -> None:
    record = made.record
    if format_.holds_the_log:
        say(f"The whole log is packed in {target}; the exports in it hold what may leave:")
    say(f"{_count(record.entries)} written to {target}.")
    if record.unconfirmed_left_out:
        say(
            f"{_count(record.unconfirmed_left_out)} that nobody has confirmed "
            f"{_were(record.unconfirmed_left_out)} left out; confirm them in the review, or "
            "write them as well, marked, with --include-unconfirmed."
        )
    if record.restricted_left_out:
        say(
            f"{record.restricted_left_out} restricted "
            f"{'entry' if record.restricted_left_out == 1 else 'entries'} "
            f"{_were(record.restricted_left_out)} left out; "
            "--include-restricted writes them too."
        )
    if made.why_unrecorded:
        say(f"The log could not record this export. {made.why_unrecorded}")


def _count(entries: int) -> str:
    return f"{entries} {'entry' if entries == 1 else 'entries'}"


def _were(entries: int) -> str:
    return "was" if entries == 1 else "were"
