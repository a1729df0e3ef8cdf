"""voicelog notes: what was heard, note by note."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import click
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicelog.cli.options import json_option, log_option
from voicelog.cli.sessions import describe_removal
from voicelog.cli.terminal import make_console, safe, say, write_json_lines
from voicelog.store.log import Log
from voicelog.store.note_log import NoteState


@click.command()
@log_option
@json_option
def notes(folder: Path, *, as_json: bool) -> int:
    """Show what was heard, note by note."""
    with Log.open(folder) as log:
        if as_json:
            write_json_lines(format_note_record(state) for state in log.iter_note_states())
            return 0
        if log.count_notes() == 0:
            say(f"The log {folder} holds no notes yet.")
        removed = {
            recording.file: describe_removal(recording)
            for recording in log.iter_recordings()
            if recording.removed_at is not None
        }
        _print_notes(log.iter_note_states(), removed)
    return 0


def format_note_record(state: NoteState) -> dict[str, Any]:
    """Return a note as the JSON-ready record of the interface contract."""
    note = state.note
    return {
        "note": note.number,
        "recording": note.recording,
        "start": note.start_s,
        "end": note.end_s,
        "text": note.text,
        "words": [
            {
                "word": word.text,
                "start": word.start_s,
                "end": word.end_s,
                "confidence": word.confidence,
            }
            for word in note.words
        ],
        "engine": note.engine,
        "model": note.model,
        "struck": state.struck,
        "entries": list(state.entries),
    }


def format_time(seconds: float | None) -> str:
    """Return a time in a recording as people read it.

    >>> format_time(75.25), format_time(None)
    ('1:15.2', '')
    """
    if seconds is None:
        return ""
    tenths = int(seconds * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02d}.{tenths % 10}"


def _print_notes(states: Iterator[NoteState], removed: Mapping[str, str]) -> None:
    console = make_console()
    source: str | None = None
    for state in states:
        note = state.note
        heading = note.recording or "typed"
        if heading != source:
            source = heading
            title = Text(f"\n{safe(heading)}", style="bold")
            if heading in removed:
                title.append(f"  {removed[heading]}", style="not bold dim")
            console.print(title)
        table = Table.grid(padding=(0, 2))
        table.add_column(justify="right", width=5, style="dim")
        table.add_column(justify="right", width=7, style="dim")
        table.add_column(ratio=1)
        table.add_column(justify="right", style="dim", max_width=16)
        text = Text(safe(note.text), style="strike dim" if state.struck else "")
        if state.struck:
            text.append("  (struck)", style="not strike dim")
        table.add_row(str(note.number), format_time(note.start_s), text, _format_numbers(state))
        table.expand = True
        console.print(Padding(table, (0, 0)))


def _format_numbers(state: NoteState) -> str:
    return f"→ {', '.join(map(str, state.entries))}" if state.entries else ""
