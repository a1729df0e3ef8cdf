"""What a report is made from: logs as they stand, and what other parts have measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Access, Entry, Kind
from voicelog.domain.finding import Finding, Severity
from voicelog.exports.report.figures import CountedLog, Figures
from voicelog.housing.supplies import Supply
from voicelog.housing.triage import Ranked
from voicelog.store.log import Log


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


Numbered = tuple[int, Entry]


def iter_volumes(log: Log, period: Period) -> Iterator[tuple[Numbered, ...]]:
    """Yield display number and entry of what each volume has of a period, one at a time.

    The entry of a volume as a whole belongs to it where something else of the volume does.
    Entries don't know where their values came from.
    """
    stored = log.volumes_one_by_one()
    for key in stored.list_keys():
        everything = stored.read_numbered(key, with_sources=False)
        inside = {number for number, entry in everything if period.holds(entry.recorded_at)}
        if inside:
            yield tuple(
                (number, entry)
                for number, entry in everything
                if number in inside or entry.kind is Kind.VOLUME
            )


def read_log(log: Log, volumes: Iterable[VolumeLog], period: Period) -> CountedLog:
    """Return what a log has of a period, to be counted while the log is open.

    Args:
        log: the log.
        volumes: its volumes with what they have of the period.
        period: the period.
    """
    return CountedLog(
        volumes=volumes,
        notes=(note for note in log.iter_note_times() if period.holds(note.recorded_at)),
        recordings=(
            one for one in log.iter_recordings() if period.holds(one.recorded_at or one.taken_at)
        ),
        corrections=log.count_corrections(),
        error_rate=log.error_rate(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedLog:
    """Which log a report is on.

    Attributes:
        name: the name of its folder.
        as_of: when it last changed, ISO 8601 in UTC.
    """

    name: str
    as_of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenFinding:
    """A finding that a report shows.

    Attributes:
        finding: the finding.
        is_restricted: whether it is about an entry with restricted access.
    """

    finding: Finding
    is_restricted: bool = False


LONGEST_LIST = 40
"""How many open findings a report shows; it says how many more there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingsInShort:
    """What a report says of the closing check.

    Attributes:
        errors: how many open findings are errors.
        warnings: how many are warnings.
        accepted: how many were accepted.
        gravest: the first open ones, errors before warnings.
    """

    errors: int
    warnings: int
    accepted: int
    gravest: tuple[OpenFinding, ...]

    @property
    def open(self) -> int:
        """How many findings are open."""
        return self.errors + self.warnings


def sum_up_findings(findings: Iterable[OpenFinding]) -> FindingsInShort:
    """Return what a report says of some findings, given in the order of the closing check."""
    counts = dict.fromkeys((Severity.ERROR, Severity.WARNING), 0)
    first: dict[Severity, list[OpenFinding]] = {severity: [] for severity in counts}
    accepted = 0
    for one in findings:
        accepted += one.finding.accepted is not None
        severity = one.finding.severity
        if one.finding.is_open:
            counts[severity] += 1
            if len(first[severity]) < LONGEST_LIST:
                first[severity].append(one)
    gravest = (*first[Severity.ERROR], *first[Severity.WARNING])
    return FindingsInShort(
        errors=counts[Severity.ERROR],
        warnings=counts[Severity.WARNING],
        accepted=accepted,
        gravest=gravest[:LONGEST_LIST],
    )


def add_findings(those: Iterable[FindingsInShort]) -> FindingsInShort:
    """Return what a report says of the findings of several logs."""
    those = tuple(those)
    shown = sorted(
        (one for found in those for one in found.gravest),
        key=lambda one: one.finding.severity is not Severity.ERROR,
    )
    return FindingsInShort(
        errors=sum(found.errors for found in those),
        warnings=sum(found.warnings for found in those),
        accepted=sum(found.accepted for found in those),
        gravest=tuple(shown[:LONGEST_LIST]),
    )


def mark_restricted(volume: VolumeLog | None, findings: Iterable[Finding]) -> Iterator[OpenFinding]:
    """Yield the findings of a volume, those about restricted entries marked."""
    entries = () if volume is None else volume.entries
    restricted = {entry.id for entry in entries if entry.access is Access.RESTRICTED}
    for finding in findings:
        yield OpenFinding(finding=finding, is_restricted=finding.entry in restricted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """Everything a report is made from.

    What was not measured is None, and the report says so.

    Attributes:
        logs: the logs.
        figures: what was counted in them.
        repository: the repository's name, or "".
        period: the days it is about.
        findings: what the closing check says, or None.
        supplies: what housing the volumes takes from stock, or None.
        currency: of its prices, or "".
        ranking: the volumes, the one that needs care most first, or None.
    """

    logs: tuple[NamedLog, ...]
    figures: Figures
    repository: str = ""
    period: Period = Period()
    findings: FindingsInShort | None = None
    supplies: tuple[Supply, ...] | None = None
    currency: str = ""
    ranking: tuple[Ranked, ...] | None = None
