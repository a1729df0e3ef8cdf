"""Options that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

DEFAULT_LOG = "voicelog-log"

log_option = click.option(
    "--log",
    "folder",
    type=click.Path(path_type=Path),
    envvar="VOICELOG_LOG",
    default=DEFAULT_LOG,
    metavar="DIR",
    help=f"The log's folder; else $VOICELOG_LOG, else ./{DEFAULT_LOG}.",
)
throwaway_log_option = click.option(
    "--log",
    "folder",
    type=click.Path(path_type=Path),
    default=None,
    metavar="DIR",
    help="The log's folder; without it the rows are shown and nothing is kept.",
)
json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="Print JSON Lines on standard output and nothing else there.",
)
handler_option = click.option(
    "--handler", metavar="NAME", default=None, help="Who speaks; else the setting."
)
engine_option = click.option(
    "--engine",
    type=click.Choice(["auto", "whisper", "vosk"]),
    default=None,
    help="The recogniser; else the setting.",
)
