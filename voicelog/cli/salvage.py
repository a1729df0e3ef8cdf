"""voicelog salvage: a new log of what can still be read of a damaged one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from voicelog.cli.log_damage import find_damage
from voicelog.cli.options import log_option
from voicelog.cli.terminal import say
from voicelog.session.salvaging import Salvaged
from voicelog.settings import read_settings
from voicelog.store.salvage.rebuilding import Losses
from voicelog.wiring.keeping import salvage_log

_MOST_NAMED = 12


@click.command()
@log_option
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    metavar="PATH",
    help="The folder of the new log; it must not be there yet.",
)
def salvage(folder: Path, target: Path) -> int:
    """Make a new log of what can still be read of a damaged one.

    The damaged log is only read, page by page; keep it. Notes, entries, acts of review and
    recordings that can be read are in the new log as they were. Entries that are lost are read
    anew from their notes, and queried. It says what is lost; it ends with 1 if anything is.
    Where there is a backup, look there first.
    """
    losses, salvaged = salvage_log(folder, target, read_settings())
    say(
        f"{target} holds what could be read of {folder}: {_count(salvaged.notes, 'note')}, "
        f"{_count(salvaged.entries, 'entry')}, {_count(salvaged.acts, 'act')} of review, "
        f"{_count(salvaged.recordings, 'recording')}."
    )
    lost = [*_tell_losses(losses, salvaged), *(one.message for one in find_damage(target))]
    for sentence in lost or ("Nothing is lost.",):
        say(sentence)
    if salvaged.kept:
        say(
            f"{_count(salvaged.kept, 'entry')} rested on what is lost and stayed as before; the "
            "history says which."
        )
    return 1 if lost else 0


def _tell_losses(losses: Losses, salvaged: Salvaged) -> Iterator[str]:
    if losses.broken_pages:
        yield f"{_count(losses.broken_pages, 'page')} of its database could not be read."
    if losses.notes:
        yield f"Lost: {_name('note', losses.notes)}."
    if losses.notes_from_words:
        yield (
            f"Of {_name('note', losses.notes_from_words)} only the words are left, without their "
            "recording and speaker."
        )
    if losses.acts:
        yield f"Lost: {_name('act', losses.acts)} of review; what it decided stands in the entries."
    if losses.acts_in_part:
        yield f"Lost in part: {_name('act', losses.acts_in_part)} of review."
    if losses.has_lost_facts:
        yield (
            "Lost: the log's own id and how it was begun; it has a new id, and sizes and dates "
            "are read by today's settings."
        )
    if salvaged.read_anew:
        yield (
            f"{_count(salvaged.read_anew, 'entry')} had to be read anew from the notes; look at "
            "them in the review."
        )
    if losses.rows:
        yield f"{_count(losses.rows, 'row')} of history or detail had to be left out."
    for file in salvaged.adopted:
        yield (
            f"The log no longer knew anything of the recording {file}; 'voicelog transcribe' with "
            "that file hears what no note was made of."
        )
    for file in salvaged.unreadable:
        yield f"The file audio/{file} can't be read as a recording, so it is not in the new log."


def _name(what: str, numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"{what} {numbers[0]}"
    named = ", ".join(map(str, numbers[:_MOST_NAMED]))
    more = len(numbers) - _MOST_NAMED
    return f"{what}s {named}{f' and {more} more' if more > 0 else ''}"


def _count(number: int, one: str) -> str:
    many = {"entry": "entries"}.get(one, f"{one}s")
    return f"{number:,} {one if number == 1 else many}"
