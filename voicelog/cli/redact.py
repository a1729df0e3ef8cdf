"""voicelog redact: words that must not be kept are taken out for good, their sound as well."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from rich.text import Text

from voicelog.cli.options import log_option
from voicelog.cli.terminal import make_console, safe, say
from voicelog.domain.note import Note
from voicelog.domain.redaction import RedactedStretch
from voicelog.errors import UsageError
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.wiring.review import make_reviewer

_AROUND = 30
"""Characters shown before and after the words, so that one can tell the places apart."""


@click.command()
@click.argument("words", metavar="WORDS")
@log_option
@click.option(
    "--note",
    "numbers",
    type=int,
    multiple=True,
    metavar="N",
    help="Only in this note; may be repeated.",
)
@click.option("--reason", default="", metavar="WORDS", help="Why; it stays on record.")
@click.option("--by", default="", metavar="NAME", help="Who orders it; else the setting handler.")
@click.option("--yes", "is_ordered", is_flag=True, help="Do it; without, the places are shown.")
def redact(
    words: str, folder: Path, *, numbers: tuple[int, ...], reason: str, by: str, is_ordered: bool
) -> int:
    """Take words out of a log for good, and silence them in its recordings.

    Without --yes it only shows where the words stand. With "-" the words are read from standard
    input, so that they don't stay in the history of your shell. What was exported before, and
    backups, are not reached.
    """
    settings = read_settings()
    reviewer = make_reviewer(folder, settings, by=by or settings.handler)
    wanted = sys.stdin.readline().strip() if words == "-" else words
    with Log.open(folder) as log:
        notes = {note.number: note for note in log.iter_notes()}
    found = [one for one in reviewer.redacting.find(wanted) if not numbers or one.note in numbers]
    if not found:
        say("These words stand in no note of the log; nothing was changed.")
        return 1
    if not is_ordered:
        console = make_console()
        for one in found:
            console.print(_show(one, notes[one.note]))
        say(f"{_count(len(found))}; nothing was changed. To take them out for good, add --yes.")
        return 0
    if not (by or settings.handler):
        raise UsageError("Say who orders it, with --by or in the setting handler.")
    if not reason.strip():
        raise UsageError("Say why the words have to go, with --reason; the reason is kept.")
    done = reviewer.redacting.redact(found, reason=reason)
    say(f"{_count(len(found))}; taken out for good. Exports and backups are yours to see to.")
    for remark in done.remarks:
        say(remark)
    return 0


def _show(stretch: RedactedStretch, note: Note) -> Text:
    before = note.text[max(0, stretch.first - _AROUND) : stretch.first]
    after = note.text[stretch.last : stretch.last + _AROUND]
    return Text.assemble(
        (f"note {stretch.note:<6}", "dim"),
        safe(before),
        (safe(stretch.text), "bold reverse"),
        safe(after),
    )


def _count(number: int) -> str:
    return "1 place" if number == 1 else f"{number} places"
