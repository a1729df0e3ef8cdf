"""Sessions as the log keeps them: who was recorded, when, with what, and what is missing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from sqlite_utils import Database

from voicelog.domain.speakers import Speakers, Told
from voicelog.store.rows import format_json


class Way(StrEnum):
    """How a session's sound came into the log."""

    LIVE = "live"
    RECORDING = "recording"


class IncidentKind(StrEnum):
    """What befell a live session."""

    GAP = "gap"
    PAUSE = "pause"
    CLOCK_SET = "clock set"


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident:
    """A stretch of a live session of which there is no sound, or a clock that was set.

    Attributes:
        kind: what it was.
        at: when sound went on, or the clock was set: wall clock, ISO 8601 with zone.
        seconds: how much is missing; or by how much the clock was set, forwards if positive.
        why: the cause, in words, where one is known.
    """

    kind: IncidentKind
    at: str
    seconds: float
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One sitting in front of a microphone, here or elsewhere.

    Attributes:
        id: globally unique and never reused.
        way: recorded live, or brought in as a recording.
        device: the microphone's name; of a recording, the name of the file that was brought.
        journal: the stem of its journal's name in ``audio/``; None unless live.
        handler: who worked, or None.
        speakers: who was recorded, and whether they were told.
        began_at: wall clock, ISO 8601 with zone; None where a recording doesn't say.
        ended_at: the same; of a live session None until it has ended.
        broken_off: whether it ended without being ended: a crash, a power cut.
    """

    id: str
    way: Way
    device: str
    journal: str | None = None
    handler: str | None = None
    speakers: Speakers = field(default_factory=Speakers)
    began_at: str | None = None
    ended_at: str | None = None
    broken_off: bool = False

    @property
    def is_under_way(self) -> bool:
        """Whether it is being recorded just now, or was broken off and not completed since."""
        return self.way is Way.LIVE and self.ended_at is None


def iter_sessions(database: Database) -> Iterator[Session]:
    """Yield all sessions in the order in which they came into the log."""
    for row in database.query("SELECT * FROM sessions ORDER BY rowid"):
        speakers = Speakers(people=tuple(json.loads(row["people"])), told=Told(row["told"]))
        yield Session(
            id=row["id"],
            way=Way(row["way"]),
            device=row["device"],
            journal=row["journal"],
            handler=row["handler"],
            speakers=speakers,
            began_at=row["began_at"],
            ended_at=row["ended_at"],
            broken_off=bool(row["broken_off"]),
        )


def iter_incidents(database: Database, session_id: str) -> Iterator[Incident]:
    """Yield what befell a session, in order."""
    for row in database.query(
        "SELECT * FROM incidents WHERE session = ? ORDER BY rank", [session_id]
    ):
        yield Incident(
            kind=IncidentKind(row["kind"]),
            at=row["at"],
            seconds=row["seconds"],
            why=row["why"],
        )


def insert_session(database: Database, session: Session) -> None:
    """Write a session down, unless the log knows it."""
    database.execute(
        "INSERT OR IGNORE INTO sessions (id, way, device, journal, handler, people, told, "
        "began_at, ended_at, broken_off) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            session.id,
            session.way,
            session.device,
            session.journal,
            session.handler,
            format_json(session.speakers.people),
            session.speakers.told,
            session.began_at,
            session.ended_at,
            int(session.broken_off),
        ],
    )


def insert_incidents(database: Database, session_id: str, incidents: Iterable[Incident]) -> None:
    """Write down what befell a session, from its beginning; what the log knows stays."""
    for rank, incident in enumerate(incidents):
        database.execute(
            "INSERT OR IGNORE INTO incidents (session, rank, kind, at, seconds, why) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            [session_id, rank, incident.kind, incident.at, incident.seconds, incident.why],
        )
