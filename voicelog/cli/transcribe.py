"""voicelog transcribe: recordings of spoken notes into a log."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from voicelog.cli.options import json_option, log_option, spoken_options
from voicelog.cli.taking import Reporter, bench_for, print_rows, reporting
from voicelog.errors import UnusableInput
from voicelog.session.recordings import Hearing, Outcome, Watcher, take_recording
from voicelog.session.scribe import Scribe
from voicelog.settings import read_settings
from voicelog.wiring.hearing import make_hearing


@click.command()
@click.argument(
    "recordings", metavar="AUDIO...", nargs=-1, required=True, type=click.Path(path_type=Path)
)
@log_option
@json_option
@spoken_options
def transcribe(
    recordings: tuple[Path, ...],
    folder: Path,
    *,
    given: Mapping[str, Any],
    as_json: bool,
) -> int:
    """Take recordings of spoken notes into a log.

    WAV, FLAC, MP3, M4A, Opus and others. Each recording is copied into the log before it
    is heard. After an interruption the same command goes on where it stopped; a recording
    that the log holds already is passed over.
    """
    settings = read_settings(overrides=given)
    with reporting() as reporter, bench_for(folder, settings, reporter) as bench:
        reporter.begin("Loading the recogniser")
        hearing = make_hearing(settings, bench.vocabulary)
        for sentence in hearing.remarks:
            reporter.say(sentence)
        try:
            complete = [
                take_one(recording, bench.scribe, hearing, reporter) for recording in recordings
            ]
        except KeyboardInterrupt:
            reporter.say(
                f"Stopped; {reporter.notes} notes are stored. "
                "The same command goes on where this one stopped."
            )
            raise
        print_rows(bench.log, settings, reporter, as_json=as_json)
    return 0 if all(complete) else 1


def take_one(recording: Path, scribe: Scribe, hearing: Hearing, reporter: Reporter) -> bool:
    """Take one recording; return whether anything usable was in it."""
    reporter.begin(recording.name)
    watcher = Watcher(heard=reporter.reached, taken=reporter.took, damaged=reporter.say)
    try:
        outcome = take_recording(recording, scribe, hearing, watcher=watcher)
    except UnusableInput as failure:
        reporter.say(str(failure))
        return False
    reporter.say(_describe(recording, outcome))
    return True


def _describe(recording: Path, outcome: Outcome) -> str:
    if outcome.already_known:
        return f"{recording.name} is in the log already; nothing was added."
    notes = f"{outcome.notes} {'note' if outcome.notes == 1 else 'notes'}"
    length = f" in {outcome.duration_s:.0f} s" if outcome.duration_s else ""
    resumed = ""
    if outcome.resumed_at_s is not None:
        resumed = f", going on at {outcome.resumed_at_s:.0f} s where it was interrupted"
    return f"{recording.name}: {notes}{length}{resumed}."
