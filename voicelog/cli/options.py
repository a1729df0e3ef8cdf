"""Options that several commands share."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from voicelog.domain.speakers import Told

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
    metavar="NAME",
    default=None,
    help="The recogniser: auto, both, whisper, vosk, or that of a plug-in; else the setting.",
)
scans_option = click.option(
    "--scans",
    "scan_folders",
    multiple=True,
    metavar="[VOLUME=]FOLDER",
    help="A folder of scans, never written to; may be repeated.",
)


def spoken_options(command: Callable[..., int]) -> Callable[..., int]:
    """Add what can be said about who speaks and how it is heard.

    The command gets it as one argument ``given``: values by the names of settings, None
    where nothing was said.
    """

    @engine_option
    @handler_option
    @click.option(
        "--recorded",
        "people",
        metavar="NAME",
        multiple=True,
        help="Whose voice is recorded; may be repeated; else the setting, else the handler.",
    )
    @click.option(
        "--told",
        type=click.Choice([str(told) for told in Told]),
        default=None,
        help="Whether they were told that they are recorded; else the setting.",
    )
    @functools.wraps(command)
    def spoken(
        *,
        engine: str | None,
        handler: str | None,
        people: tuple[str, ...],
        told: str | None,
        **others: Any,
    ) -> int:
        given = {
            "engine": engine,
            "handler": handler,
            "people_recorded": list(people) or None,
            "people_told": told,
        }
        return command(given=given, **others)

    return spoken
