"""voicelog report: what was found, done and left open, for whoever answers for it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from voicelog.cli.options import DEFAULT_LOG
from voicelog.cli.terminal import say
from voicelog.errors import UsageError
from voicelog.exports.report.document import make_document
from voicelog.exports.report.material import Period
from voicelog.exports.report.writing import write_report
from voicelog.settings import read_settings
from voicelog.wiring.handing_over import gather_report


@click.command()
@click.option(
    "--log",
    "folders",
    type=click.Path(path_type=Path),
    envvar="VOICELOG_LOG",
    multiple=True,
    default=(DEFAULT_LOG,),
    metavar="DIR",
    help=f"A log's folder; may be repeated; else $VOICELOG_LOG, else ./{DEFAULT_LOG}.",
)
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    metavar="PATH",
    help="What to write: a page (.html) or a document (.pdf).",
)
@click.option("--from", "first", metavar="DATE", help="Only what was logged on this day or later.")
@click.option("--to", "last", metavar="DATE", help="Only what was logged up to this day.")
def report(folders: tuple[Path, ...], target: Path, *, first: str | None, last: str | None) -> int:
    """Write a report: one page in short, then the detail.

    Restricted entries are counted and not described.
    """
    period = Period(first=_parse_day(first, "--from"), last=_parse_day(last, "--to"))
    if period.first and period.last and period.last < period.first:
        raise UsageError("--to names a day before --from; exchange them.")
    material = gather_report(folders, read_settings(), period)
    write_report(make_document(material), target)
    say(f"Report written to {target}.")
    return 0


def _parse_day(text: str | None, option: str) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{option} {text!r} is no day; write it as 2031-05-12.") from None
