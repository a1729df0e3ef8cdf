"""What a report is made from: logs as they stand, and what other parts have measured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from voicelog.checks.volumes import key_of
from voicelog.domain.entry import Entry, Kind
from voicelog.domain.error_rate import ErrorRate
from voicelog.domain.finding import Finding
from voicelog.housing.supplies import Supply
from voicelog.housing.triage import Ranked
from voicelog.store.log import Corrections, Log, NoteState
from voicelog.store.recording import Recording


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """The days a report is about, both included; None is open.

    Attributes:
        first: the first day.
        last: the last day.
    """

    first: date | None = None
    last: date | None = None

    def holds(self, moment: str | None) -> bool:
        """Whether a moment (ISO 8601) falls into it; an unknown one only if it is open."""
        if self.first is None and self.last is None:
            return True
        if moment is None:
            return False
        day = date.fromisoformat(moment[:10])
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogMaterial:
    """What one log says of the report's period.

    Attributes:
        name: the name of its folder.
        as_of: when it last changed, ISO 8601 in UTC.
        entries: display number and entry, void ones left out.
        notes: every note with what became of it.
        recordings: its recordings.
        corrections: what was changed after it was heard.
        error_rate: what its blind samples have shown.
    """

    name: str
    as_of: str
    entries: tuple[tuple[int, Entry], ...]
    notes: tuple[NoteState, ...]
    recordings: tuple[Recording, ...]
    corrections: Corrections
    error_rate: ErrorRate


def read_log(log: Log, period: Period) -> LogMaterial:
    """Return what a log says of a period.

    The entry of a volume as a whole belongs to it where something else of the volume does.
    """
    everything = tuple(log.iter_entries())
    inside = {number for number, entry in everything if period.holds(entry.recorded_at)}
    volumes = {key_of(entry) for number, entry in everything if number in inside}
    return LogMaterial(
        name=log.folder.resolve().name,
        as_of=log.last_change(),
        entries=tuple(
            (number, entry)
            for number, entry in everything
            if number in inside or (entry.kind is Kind.VOLUME and key_of(entry) in volumes)
        ),
        notes=tuple(
            state for state in log.iter_note_states() if period.holds(state.note.recorded_at)
        ),
        recordings=tuple(
            one for one in log.iter_recordings() if period.holds(one.recorded_at or one.taken_at)
        ),
        corrections=log.count_corrections(),
        error_rate=log.error_rate(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """Everything a report is made from.

    What was not measured is None, and the report says so.

    Attributes:
        logs: the logs.
        repository: the repository's name, or "".
        period: the days it is about.
        findings: what the closing check says, or None.
        supplies: what housing the volumes takes from stock, or None.
        currency: of its prices, or "".
        ranking: the volumes, the one that needs care most first, or None.
    """

    logs: tuple[LogMaterial, ...]
    repository: str = ""
    period: Period = Period()
    findings: tuple[Finding, ...] | None = None
    supplies: tuple[Supply, ...] | None = None
    currency: str = ""
    ranking: tuple[Ranked, ...] | None = None
