"""From the journal of a live session to its record in the log.

The journal is on the disk first. What it says about the session is brought into the log
while it runs, when it ends, and, should it not have come so far, at the next start.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

from voicelog.domain.speakers import Speakers, Told
from voicelog.session.live.growing_wav import mend_wav
from voicelog.session.live.journal import (
    JOURNAL_SUFFIX,
    Event,
    Line,
    find_journals,
    read_journal,
)
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.sessions import Incident, IncidentKind, Session, Way
from voicelog.store.writing import WritableLog

_PAUSED = "paused by the handler"


def record_session(log: WritableLog, session: Session, *, is_over: bool) -> None:
    """Bring into the log what befell a session, and its end if nobody records it any more.

    Done again, it adds what is new.

    Raises:
        StoreError: the journal can't be read or the log not written.
    """
    if session.journal is None:
        return
    with explained(log.folder):
        lines = tuple(read_journal(log.audio_folder / f"{session.journal}{JOURNAL_SUFFIX}"))
        log.begin_session(session)
        log.add_incidents(session.id, _iter_incidents(lines))
        if is_over:
            closed_at = next((line.at for line in lines if line.event is Event.CLOSED), None)
            ended_at = closed_at or _find_last_moment(lines, log.audio_folder, session)
            log.end_session(session.id, ended_at=ended_at, broken_off=closed_at is None)


def find_unended_sessions(log: Log) -> tuple[Session, ...]:
    """Return the live sessions that have no end in the log, oldest first.

    While somebody records, theirs is among them. A crash may have come before the log
    knew of a session at all.
    """
    known = {session.id: session for session in log.iter_sessions()}
    with explained(log.folder):
        journaled = [_parse_session(journal) for journal in find_journals(log.audio_folder)]
    unknown = [session for session in journaled if session and session.id not in known]
    return tuple(session for session in (*known.values(), *unknown) if session.is_under_way)


def _parse_session(journal: Path) -> Session | None:
    """Return the session that a journal begins with, or None where the line is torn."""
    line = next((line for line in read_journal(journal) if line.event is Event.SESSION), None)
    if line is None or not isinstance(line.facts.get("uid"), str):
        return None
    facts = line.facts
    return Session(
        id=facts["uid"],
        way=Way.LIVE,
        device=str(facts.get("source", "")),
        journal=journal.stem,
        handler=facts.get("handler"),
        speakers=Speakers(
            people=tuple(map(str, facts.get("people", ()))),
            told=Told(facts.get("told", Told.UNKNOWN)),
        ),
        began_at=line.at,
    )


def _iter_incidents(lines: Iterable[Line]) -> Iterator[Incident]:
    paused_at: str | None = None
    for line in lines:
        match line.event:
            case Event.GAP:
                yield Incident(
                    kind=IncidentKind.GAP,
                    at=line.at,
                    seconds=float(line.facts["lost_s"]),
                    why=str(line.facts["why"]),
                )
            case Event.CLOCK_SET:
                seconds = float(line.facts["by_s"])
                yield Incident(kind=IncidentKind.CLOCK_SET, at=line.at, seconds=seconds)
            case Event.PAUSED:
                paused_at = line.at
            case Event.RESUMED | Event.CLOSED if paused_at is not None:
                paused = datetime.fromisoformat(line.at) - datetime.fromisoformat(paused_at)
                paused_at = None
                yield Incident(
                    kind=IncidentKind.PAUSE,
                    at=line.at,
                    seconds=round(paused.total_seconds(), 3),
                    why=_PAUSED,
                )


def _find_last_moment(lines: Iterable[Line], audio_folder: Path, session: Session) -> str:
    """Return the last moment that a session without an end is known to have reached."""
    moments = [datetime.fromisoformat(session.began_at)] if session.began_at else []
    for line in lines:
        moments.append(datetime.fromisoformat(line.at))
        if line.event is Event.FILE and isinstance(line.facts.get("recorded_at"), str):
            path = audio_folder / Path(str(line.facts.get("file"))).name
            facts = mend_wav(path) if path.is_file() else None
            if facts is not None:
                began_at = datetime.fromisoformat(line.facts["recorded_at"])
                moments.append(began_at + timedelta(seconds=facts.duration_s))
    return max(moments).isoformat(timespec="milliseconds")
