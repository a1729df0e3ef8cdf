"""The commands: the only layer that prints or sets an exit status."""

from __future__ import annotations

import os
import sys
import traceback
from typing import Any

import click

from voicelog import __version__
from voicelog.cli.group import CommandEntry, LazyGroup, PipeClosed
from voicelog.cli.left_out import telling_what_is_left_out
from voicelog.errors import VoicelogError

INTERRUPTED = 130  # 128 + SIGINT, as shells report it
PIPE_CLOSED = 141  # 128 + SIGPIPE

COMMANDS = (
    CommandEntry("demo", "Hear the demo recordings and compare the rows with the expected ones."),
    CommandEntry("listen", "Take spoken notes into a log as they are said."),
    CommandEntry("transcribe", "Take recordings of spoken notes into a log."),
    CommandEntry("parse", "Take typed notes, one on each line, into a log."),
    CommandEntry("show", "Show a log as a table."),
    CommandEntry("notes", "Show what was heard, note by note."),
    CommandEntry("review", "Hear, correct and confirm the entries in the browser."),
    CommandEntry("check", "Check a log before the lid closes."),
    CommandEntry("house", "Work out box, interleaving, envelopes, labels and supplies."),
    CommandEntry("export", "Write the entries to a file for other programs."),
    CommandEntry("exports", "List what left the house, when, and with which checksum."),
    CommandEntry("import-edits", "Take in a table that was exported and edited."),
    CommandEntry("bring-in", "Bring a bag from another bench into a log."),
    CommandEntry("report", "Write a report: one page in short, then the detail."),
    CommandEntry("sessions", "Show who was recorded, when, and every gap in the sound."),
    CommandEntry("audio", "Remove sound that need not be kept any longer."),
    CommandEntry("redact", "Take words out of a log for good, and silence them in its recordings."),
    CommandEntry("backup", "Copy a whole log, while others work with it, and verify the copy."),
    CommandEntry("salvage", "Make a new log of what can still be read of a damaged one."),
    CommandEntry("reread", "Read all notes of a log again with today's vocabulary and settings."),
    CommandEntry(
        "vocabulary", "List the terms that rows use and what people also say; add your own."
    ),
    CommandEntry("card", "Print what can be said on one page for the bench."),
    CommandEntry(
        "models",
        "List the recogniser models on this machine, fetch one, or teach one your own words.",
    ),
    CommandEntry("reference", "Print every command, setting, field, finding and format."),
    CommandEntry("doctor", "Check whether this machine is ready."),
)


@click.group(
    cls=LazyGroup,
    commands=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="voicelog", message="%(prog)s %(version)s")
def cli() -> None:
    """Turn spoken notes about scrapbooks and albums into a leaf-by-leaf log, offline.

    A log is a folder; name it with --log or in the variable VOICELOG_LOG. Exit status:
    0 done, 1 an input held nothing usable or something failed, 2 wrong usage.
    """


def main(arguments: list[str] | None = None) -> None:
    """Run voicelog; ends the process with the exit status of the command."""
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: list[str]) -> int:
    """Run one command and return its exit status; every failure is one sentence."""
    try:
        with telling_what_is_left_out():
            result: Any = cli.main(arguments, prog_name="voicelog", standalone_mode=False)
    except click.ClickException as failure:
        failure.show()
        return failure.exit_code
    except click.Abort:
        return INTERRUPTED
    except PipeClosed:
        # Whoever read our output has enough. Python would complain about it once more
        # when it closes standard output, so nothing is left there to be written.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return PIPE_CLOSED
    except VoicelogError as failure:
        _say(f"voicelog: {failure}")
        return failure.exit_status
    except Exception as failure:  # noqa: BLE001 - the last door before the user
        return _tell_fault(failure)
    return result if isinstance(result, int) else 0


def _tell_fault(failure: Exception) -> int:
    if os.environ.get("VOICELOG_TRACEBACK"):
        traceback.print_exception(failure)
    _say(
        f"voicelog: A fault in voicelog stopped this command "
        f"({type(failure).__name__}: {failure}). What was stored before is safe. Please report "
        "it with the output of the same command under VOICELOG_TRACEBACK=1."
    )
    return 1


def _say(message: str) -> None:
    # Only here, because it brings what tables and progress bars need.
    from voicelog.cli.terminal import say  # noqa: PLC0415

    say(message)
