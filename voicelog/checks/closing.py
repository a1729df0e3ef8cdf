"""The closing check: every rule there is, over a whole log, one volume in memory at a time."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from voicelog.checks.box_counts import BOX_COUNTS
from voicelog.checks.descriptions import DESCRIPTIONS
from voicelog.checks.enclosures import ENCLOSURES, SHARED_ENCLOSURES
from voicelog.checks.hazards import HAZARDS
from voicelog.checks.images import IMAGES
from voicelog.checks.items import ITEMS
from voicelog.checks.leaves import LEAVES
from voicelog.checks.log_volumes import LogVolumes, VolumesInMemory
from voicelog.checks.rules import Check, Comparison, Evidence, Rule
from voicelog.checks.scan_files import AMONG_SCANS, SCAN_FILES
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.sequence import ImagedBy
from voicelog.checks.standing import STANDING
from voicelog.checks.volumes import VolumeKey, VolumeLog
from voicelog.domain.entry import Entry
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.place import place_order
from voicelog.extraction.closing_count import ClosingCount, find_closing_count
from voicelog.extraction.tokens import tokenize
from voicelog.vocabulary import Vocabulary

CHECKS: tuple[Check | Comparison, ...] = (
    DESCRIPTIONS,
    LEAVES,
    ITEMS,
    ENCLOSURES,
    SHARED_ENCLOSURES,
    HAZARDS,
    BOX_COUNTS,
    IMAGES,
    AMONG_SCANS,
    SCAN_FILES,
    STANDING,
)
"""Every check there is; a new one is added here."""

_SEVERITIES = tuple(Severity)
_BETWEEN_REMARKS = re.compile(r";\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckOptions:
    """What a repository decides about the closing check.

    Attributes:
        known_accessions: the accession numbers in use; empty where none are listed.
        imaged_by: whether volumes have an image a side or one an opening, where their
            notes don't say.
        least_ppi: the resolution that scans should have, in pixels per inch; 0 for any.
    """

    known_accessions: tuple[str, ...] = ()
    imaged_by: ImagedBy = ImagedBy.PAGES
    least_ppi: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeFindings:
    """What was found in one volume.

    Attributes:
        volume: the volume; None for what is on no volume of the log.
        findings: the gravest first, then as places follow each other.
    """

    volume: VolumeLog | None
    findings: tuple[Finding, ...]


def gather_evidence(
    vocabulary: Vocabulary,
    options: CheckOptions,
    *,
    counts: Iterable[ClosingCount] = (),
    scans: SeenScans | None = None,
) -> Evidence:
    """Return what the rules look at beside the volumes.

    Args:
        vocabulary: the terms, and which cautions they call for.
        options: what the repository decides.
        counts: closing counts given beside those in the log; they come after those.
        scans: the images on disk, looked at; None where none are compared.
    """
    return Evidence(
        volumes=(),
        vocabulary=vocabulary,
        known_accessions=options.known_accessions,
        imaged_by=options.imaged_by,
        counts=tuple(counts),
        scans=scans,
        least_ppi=options.least_ppi,
    )


def find_in_volumes(
    volumes: LogVolumes,
    evidence: Evidence,
    *,
    also: Iterable[Check] = (),
    only: Callable[[VolumeKey], bool] = lambda _key: True,
) -> Iterator[VolumeFindings]:
    """Yield what a person should look at before the lid closes, volume by volume.

    What is on no volume comes first. Nothing is changed, and the same log gives the same
    findings. One volume is in memory at a time, and what comparing volumes has found; all of
    them only where a check asks for the whole log.

    Args:
        volumes: the log.
        evidence: what else is looked at.
        also: checks beside ours.
        only: which volumes are wanted; those are compared with all others.
    """
    checks = (*CHECKS, *also)
    counts = (*_counts_in(map(volumes.outline, volumes.list_keys())), *evidence.counts)
    evidence = replace(evidence, counts=counts)
    compared = _compare(volumes, checks, evidence)
    yield VolumeFindings(volume=None, findings=_in_order(compared.get(None, ())))
    for key in filter(only, volumes.list_keys()):
        volume = volumes.read(key)
        alone = replace(evidence, volumes=(volume,))
        found = [
            (rank, finding)
            for rank, check in enumerate(checks)
            if isinstance(check, Check) and check.one_by_one
            for finding in check.find(alone)
        ]
        yield VolumeFindings(volume=volume, findings=_in_order([*found, *compared.get(key, ())]))


def find_findings(
    entries: Iterable[Entry],
    vocabulary: Vocabulary,
    options: CheckOptions,
    *,
    counts: Iterable[ClosingCount] = (),
    scans: SeenScans | None = None,
    also: Iterable[Check] = (),
) -> tuple[Finding, ...]:
    """Return the findings of entries that are all in memory; see :func:`find_in_volumes`.

    Args:
        entries: the log in display order; void entries are passed over.
        vocabulary: the terms, and which cautions they call for.
        options: what the repository decides.
        counts: closing counts given beside those in the log; they come after those.
        scans: the images on disk, looked at; None where none are compared.
        also: checks beside ours.
    """
    evidence = gather_evidence(vocabulary, options, counts=counts, scans=scans)
    found = find_in_volumes(VolumesInMemory(entries), evidence, also=also)
    return tuple(finding for its in found for finding in its.findings)


def rules() -> tuple[Rule, ...]:
    """Return every rule of every check."""
    return tuple(rule for check in CHECKS for rule in check.rules)


_Ranked = tuple[int, Finding]
"""A finding, and where its check stands among all of them."""


def _compare(
    volumes: LogVolumes, checks: Sequence[Check | Comparison], evidence: Evidence
) -> dict[VolumeKey | None, list[_Ranked]]:
    """Return what is found by looking at several volumes, by the volume that it is about."""
    known = frozenset(volumes.list_keys())
    compared: dict[VolumeKey | None, list[_Ranked]] = {}
    for rank, check in enumerate(checks):
        if isinstance(check, Comparison):
            found = check.find(volumes, evidence)
        elif not check.one_by_one:
            whole = tuple(map(volumes.read, volumes.list_keys()))
            found = check.find(replace(evidence, volumes=whole))
        else:
            continue
        for finding in found:
            key = VolumeKey(finding.accession, finding.volume)
            compared.setdefault(key if key in known else None, []).append((rank, finding))
    return compared


def _in_order(found: Iterable[_Ranked]) -> tuple[Finding, ...]:
    def order(ranked: _Ranked) -> tuple[int, tuple[int, int, str, int, int], int]:
        rank, finding = ranked
        place = place_order(finding.leaf, finding.side)
        return (_SEVERITIES.index(finding.severity), place, rank)

    return tuple(finding for _, finding in sorted(found, key=order))


def _counts_in(volumes: Iterable[VolumeLog]) -> Iterator[ClosingCount]:
    """Yield the closing counts that were said: they stand in the remarks of volumes."""
    for volume in volumes:
        remark = volume.entry.remark if volume.entry is not None else None
        for part in _BETWEEN_REMARKS.split(remark or ""):
            count = find_closing_count(tokenize(part), part)
            if count is not None:
                yield count
