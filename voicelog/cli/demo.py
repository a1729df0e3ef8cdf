"""voicelog demo: the whole run on the demo recordings, with nothing prepared."""

from __future__ import annotations

import json
import shutil
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

import voicelog
from voicelog.cli.export import export_log
from voicelog.cli.house import write_paper
from voicelog.cli.options import engine_option
from voicelog.cli.table import TableOptions, describe_briefly, print_log
from voicelog.cli.taking import Reporter, bench_for, reporting
from voicelog.cli.terminal import make_console, safe
from voicelog.domain.entry import Entry, format_entry_record
from voicelog.domain.note import Note
from voicelog.errors import UsageError
from voicelog.exports.formats import choose_format
from voicelog.exports.selection import SelectionRules
from voicelog.session.agreement import Agreement, compare
from voicelog.session.recordings import Watcher, take_recording
from voicelog.settings import Settings, read_settings
from voicelog.store.export_record import ExportRecord
from voicelog.store.failures import explained
from voicelog.store.lock import WriterLock
from voicelog.store.log import Log
from voicelog.wiring.hearing import make_hearing

DEFAULT_OUT = "voicelog-demo"
MARKER = "made-by-voicelog-demo.txt"
CROSSWALK = "crosswalk.toml"
_EXPORTS = {
    "csv": "entries.csv",
    "xlsx": "entries.xlsx",
    "ead3": "finding-aid.xml",
    "marcxml": "volumes.marc.xml",
    "mods": "items.mods.xml",
}
_MARKER_TEXT = """\
This folder was made by 'voicelog demo', which may make it anew.
Everything in it is invented; keep nothing of your own here.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoData:
    """Where the demo recordings lie, and what is known about them.

    Attributes:
        folder: the folder of the demo data.
        recordings: file and handler of each recording, in order.
        expected: the rows that a careful reader expects.
    """

    folder: Path
    recordings: tuple[tuple[Path, str], ...]
    expected: tuple[dict[str, Any], ...]


@click.command()
@click.option(
    "--out",
    "folder",
    type=click.Path(path_type=Path),
    default=DEFAULT_OUT,
    metavar="DIR",
    help=f"Where the demo's log and export go; else ./{DEFAULT_OUT}.",
)
@engine_option
def demo(folder: Path, engine: str | None) -> int:
    """Hear the demo recordings and compare the rows with the expected ones.

    Everything is recognised afresh from the sound. The scenario is invented.
    """
    settings = read_settings(overrides={"engine": engine})
    data = find_demo_data()
    console = make_console()
    _clear(folder)
    log_folder = folder / "log"
    began_s = time.monotonic()
    with reporting(console) as reporter:
        heard_s = _hear(data, log_folder, settings, reporter, console)
    took_s = time.monotonic() - began_s
    with Log.open(log_folder) as log:
        console.print(Text("\nThe log", style="bold underline"))
        print_log(log.iter_entries(), console, TableOptions(spelling=settings.spelling), log=log)
        made = _export(log, folder, replace(settings, crosswalk_file=data.folder / CROSSWALK))
        paper = write_paper(log, folder, settings)
        found = [format_entry_record(entry, number=number) for number, entry in log.iter_entries()]
    _print_agreement(compare(data.expected, found), console)
    closing = Table.grid(padding=(0, 2))
    closing.add_row("Heard", f"{heard_s:.0f} s of speech in {took_s:.0f} s, offline")
    closing.add_row("Log", Text(safe(f"{log_folder}  (voicelog show --log {log_folder})")))
    left_out = made.restricted_left_out
    withheld = f", {left_out} restricted left out" if left_out else ""
    closing.add_row(
        "Exports",
        Text(
            safe(
                f"{', '.join(_EXPORTS.values())} in {folder}  "
                f"({made.entries} entries, unconfirmed{withheld})"
            )
        ),
    )
    closing.add_row("Paper", Text(safe(f"{', '.join(paper)} in {folder}")))
    console.print()
    console.print(closing)
    return 0


def _export(log: Log, folder: Path, settings: Settings) -> ExportRecord:
    """Write the log in some formats; return the record of the first."""
    # Nobody has reviewed the demo, so everything leaves with the mark that it is unconfirmed.
    rules = SelectionRules(include_unconfirmed=True)
    made = [
        export_log(log, choose_format(format_name), folder / name, settings, rules).record
        for format_name, name in _EXPORTS.items()
    ]
    return made[0]


def find_demo_data() -> DemoData:
    """Return the demo data: of the checkout where there is one, else as installed.

    Raises:
        UsageError: this installation has none.
    """
    package = Path(voicelog.__file__).parent
    for folder in (package.parent / "demo_data", package / "_demo_data"):
        if (folder / "notes.toml").is_file():
            notes = tomllib.loads((folder / "notes.toml").read_text(encoding="utf-8"))
            lines = (folder / "expected.jsonl").read_text(encoding="utf-8").splitlines()
            return DemoData(
                folder=folder,
                recordings=tuple(
                    (folder / "recordings" / each["file"], each["handler"])
                    for each in notes["recording"]
                ),
                expected=tuple(json.loads(line) for line in lines if line.strip()),
            )
    raise UsageError(
        "The demo recordings are missing from this installation; install voicelog again."
    )


def _clear(folder: Path) -> None:
    """Make the demo's folder, or empty the one that an earlier demo made."""
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is a file; name a folder with --out.")
    if folder.is_dir() and any(folder.iterdir()) and not (folder / MARKER).is_file():
        raise UsageError(
            f"{folder} holds other things and was not made by the demo; "
            "name a new folder with --out."
        )
    with explained(folder):
        folder.mkdir(parents=True, exist_ok=True)
        (folder / MARKER).write_text(_MARKER_TEXT, encoding="utf-8")
        if (folder / "log").is_dir():
            with _nobody_writing(folder / "log"):
                shutil.rmtree(folder / "log")


@contextmanager
def _nobody_writing(log_folder: Path) -> Iterator[None]:
    lock = WriterLock(log_folder)
    lock.acquire()
    try:
        yield
    finally:
        lock.release()


def _hear(
    data: DemoData, log_folder: Path, settings: Settings, reporter: Reporter, console: Console
) -> float:
    """Hear all recordings into the log; return their length in seconds."""
    heard_s = 0.0
    show = _Beside(console)
    with bench_for(log_folder, settings, reporter) as bench:
        reporter.begin("Loading the recogniser")
        hearing = make_hearing(settings, bench.vocabulary)
        for sentence in hearing.remarks:
            reporter.say(sentence)
        for recording, handler in data.recordings:
            console.print(Text(f"\n{recording.name}, spoken by {handler}", style="bold"))
            reporter.begin(recording.name)
            watcher = Watcher(heard=reporter.reached, taken=show.took, damaged=reporter.say)
            outcome = take_recording(
                recording, bench.scribe, replace(hearing, handler=handler), watcher=watcher
            )
            heard_s += outcome.duration_s or 0.0
    return heard_s


class _Beside:
    """Prints each note with what it became beside it."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def took(self, note: Note, entries: tuple[Entry, ...]) -> None:
        table = Table.grid(padding=(0, 2), expand=True)
        table.add_column(width=3, justify="right", style="dim")
        table.add_column(ratio=1)
        table.add_column(ratio=1, style="cyan")
        rows = Text("\n".join(safe(describe_briefly(entry)) for entry in entries))
        table.add_row(str(note.number), Text(safe(note.text)), rows)
        self._console.print(table)


def _print_agreement(agreement: Agreement, console: Console) -> None:
    percent = 100 * agreement.agreeing / agreement.fields if agreement.fields else 0.0
    console.print(Text("\nAgreement with the expected rows", style="bold underline"))
    console.print(
        Text(
            f"{agreement.agreeing} of {agreement.fields} fields agree ({percent:.1f} %); "
            f"of {agreement.rows} expected rows {len(agreement.missing)} are missing, "
            f"and {len(agreement.unexpected)} came unexpected."
        )
    )
    for place in agreement.missing:
        console.print(Text(safe(f"  missing      {place}")))
    for place in agreement.unexpected:
        console.print(Text(safe(f"  unexpected   {place}")))
    unmatched = {*agreement.missing, *agreement.unexpected}
    for difference in agreement.differences:
        if difference.place not in unmatched:
            console.print(
                Text(
                    safe(
                        f"  {difference.place}, {difference.field}: expected "
                        f"{_format(difference.expected)}, found {_format(difference.found)}"
                    )
                )
            )


def _format(value: Any) -> str:
    return "nothing" if value in (None, [], "") else json.dumps(value, ensure_ascii=False)
