"""voicelog sessions: who was recorded, when and with what, and what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from voicelog.cli.options import json_option, log_option
from voicelog.cli.terminal import make_console, safe, say, write_json_lines
from voicelog.domain.speakers import Speakers, Told
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.sessions import Incident, IncidentKind, Session

_TOLD = {
    Told.YES: "were told that they are recorded",
    Told.NO: "were not told that they are recorded",
    Told.UNKNOWN: "whether they were told is not on record",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sitting:
    """A session with everything that belongs to it."""

    session: Session
    recordings: tuple[Recording, ...]
    incidents: tuple[Incident, ...]
    notes: int

    @property
    def sound_s(self) -> float:
        return sum(recording.duration_s or 0.0 for recording in self.recordings)


@click.command()
@log_option
@json_option
def sessions(folder: Path, *, as_json: bool) -> int:
    """Show who was recorded, when, and every gap in the sound."""
    with Log.open(folder) as log:
        sittings = _read_sittings(log)
        if as_json:
            write_json_lines(_format_record(sitting) for sitting in sittings)
            return 0
        console = make_console()
        is_empty = True
        for sitting in sittings:
            is_empty = False
            _print_sitting(sitting, console)
        if is_empty:
            say(f"The log {folder} holds no sessions: nothing was recorded into it yet.")
    return 0


def _read_sittings(log: Log) -> Iterator[_Sitting]:
    recordings = tuple(log.iter_recordings())
    notes = log.count_notes_by_recording()
    for session in log.iter_sessions():
        own = tuple(one for one in recordings if one.session == session.id)
        yield _Sitting(
            session=session,
            recordings=own,
            incidents=log.find_incidents(session),
            notes=sum(notes[recording.file] for recording in own),
        )


def _format_record(sitting: _Sitting) -> dict[str, Any]:
    session = sitting.session
    return {
        "session": session.id,
        "way": session.way,
        "began_at": session.began_at,
        "ended_at": session.ended_at,
        "under_way": session.is_under_way,
        "broken_off": session.broken_off,
        "handler": session.handler,
        "people": list(session.speakers.people),
        "told": session.speakers.told,
        "device": session.device,
        "notes": sitting.notes,
        "recordings": [
            {
                "recording": recording.file,
                "duration": recording.duration_s,
                "sound_removed_at": recording.removed_at,
                "sound_removed_by": recording.removed_by,
            }
            for recording in sitting.recordings
        ],
        "incidents": [
            {
                "kind": incident.kind,
                "at": incident.at,
                "seconds": incident.seconds,
                "why": incident.why,
            }
            for incident in sitting.incidents
        ],
    }


def _print_sitting(sitting: _Sitting, console: Console) -> None:
    session = sitting.session
    console.print(Text(f"\n{_describe_time(session)}", style="bold"))
    notes = f"{sitting.notes} {'note' if sitting.notes == 1 else 'notes'}"
    lines = [
        _describe_speakers(session.speakers),
        f"{'recorded with' if session.journal else 'brought as'} {session.device}",
        f"{format_length(sitting.sound_s)} of sound, {notes}",
    ]
    if session.handler:
        lines.insert(0, f"handler {session.handler}")
    lines += [describe_incident(incident) for incident in sitting.incidents]
    for recording in sitting.recordings:
        if recording.removed_at is not None:
            lines.append(f"{recording.file}: {describe_removal(recording)}")
    for line in lines:
        console.print(Padding(Text(safe(line)), (0, 0, 0, 2)))


def describe_removal(recording: Recording) -> str:
    """Return in plain words that a recording's sound was removed; it must have been."""
    day = (recording.removed_at or "")[:10]
    return f"sound removed on {day} by the rule '{recording.removed_by}'"


def describe_incident(incident: Incident) -> str:
    """Return in plain words what befell a session.

    >>> describe_incident(
    ...     Incident(
    ...         kind=IncidentKind.GAP,
    ...         at="2031-03-02T09:15:07.250+00:00",
    ...         seconds=12.4,
    ...         why="no sound came",
    ...     )
    ... )
    'gap of 12 s before 09:15:07: no sound came'
    """
    at = incident.at[11:19]
    match incident.kind:
        case IncidentKind.GAP:
            return f"gap of {format_length(incident.seconds)} before {at}: {incident.why}"
        case IncidentKind.PAUSE:
            return f"pause of {format_length(incident.seconds)} before {at}: {incident.why}"
        case IncidentKind.CLOCK_SET:
            way = "forwards" if incident.seconds > 0 else "back"
            return f"the clock was set {way} by {format_length(abs(incident.seconds))} at {at}"


def format_length(seconds: float) -> str:
    """Return a length of time as people say it.

    >>> format_length(0.62), format_length(12.4), format_length(754), format_length(7380)
    ('0.6 s', '12 s', '12 min 34 s', '2 h 3 min')
    """
    if seconds < 10:
        return f"{seconds:.1f} s"
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"


def _describe_time(session: Session) -> str:
    if session.began_at is None:
        return "begun at a time that the recording doesn't say"
    began = session.began_at.replace("T", " ")[:19]
    if session.ended_at is None:
        return f"{began}, not ended" if session.is_under_way else began
    day, time = session.ended_at[:10], session.ended_at[11:19]
    ended = time if day == began[:10] else f"{day} {time}"
    return f"{began} to {ended}{', broken off' if session.broken_off else ''}"


def _describe_speakers(speakers: Speakers) -> str:
    people = ", ".join(speakers.people) or "nobody named"
    return f"recorded: {people}; {_TOLD[speakers.told]}"
