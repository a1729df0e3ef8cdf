"""The closing check: every rule there is, over a whole log."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from voicelog.checks.box_counts import BOX_COUNTS
from voicelog.checks.descriptions import DESCRIPTIONS
from voicelog.checks.enclosures import ENCLOSURES
from voicelog.checks.hazards import HAZARDS
from voicelog.checks.images import IMAGES
from voicelog.checks.items import ITEMS
from voicelog.checks.leaves import LEAVES
from voicelog.checks.rules import Check, Evidence, Rule
from voicelog.checks.scan_files import SCAN_FILES
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.sequence import ImagedBy
from voicelog.checks.standing import STANDING
from voicelog.checks.volumes import VolumeKey, VolumeLog, group_volumes
from voicelog.domain.entry import Entry
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.place import place_order
from voicelog.extraction.closing_count import ClosingCount, find_closing_count
from voicelog.extraction.tokens import tokenize
from voicelog.vocabulary import Vocabulary

CHECKS: tuple[Check, ...] = (
    DESCRIPTIONS,
    LEAVES,
    ITEMS,
    ENCLOSURES,
    HAZARDS,
    BOX_COUNTS,
    IMAGES,
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


def find_findings(
    entries: Iterable[Entry],
    vocabulary: Vocabulary,
    options: CheckOptions,
    *,
    counts: Iterable[ClosingCount] = (),
    scans: SeenScans | None = None,
    also: Iterable[Check] = (),
) -> tuple[Finding, ...]:
    """Return what a person should look at before the lid closes.

    Nothing is changed, and the same entries give the same findings.

    Args:
        entries: the log in display order; void entries are passed over.
        vocabulary: the terms, and which cautions they call for.
        options: what the repository decides.
        counts: closing counts given beside those in the log; they come after those.
        scans: the images on disk, looked at; None where none are compared.
        also: checks beside ours.

    Returns:
        the findings: those on no single volume, then volume by volume; in each the gravest
        first, then as places follow each other.
    """
    volumes = group_volumes(entries)
    evidence = Evidence(
        volumes=volumes,
        vocabulary=vocabulary,
        known_accessions=options.known_accessions,
        imaged_by=options.imaged_by,
        counts=(*_counts_in(volumes), *counts),
        scans=scans,
        least_ppi=options.least_ppi,
    )
    found = (finding for check in (*CHECKS, *also) for finding in check.find(evidence))
    ranks = {volume.key: rank for rank, volume in enumerate(volumes)}

    def order(finding: Finding) -> tuple[int, int, tuple[int, int, str, int, int]]:
        key = VolumeKey(finding.accession, finding.volume)
        return (
            ranks.get(key, -1),
            _SEVERITIES.index(finding.severity),
            place_order(finding.leaf, finding.side),
        )

    return tuple(sorted(found, key=order))


def rules() -> tuple[Rule, ...]:
    """Return every rule of every check."""
    return tuple(rule for check in CHECKS for rule in check.rules)


def _counts_in(volumes: Iterable[VolumeLog]) -> Iterator[ClosingCount]:
    """Yield the closing counts that were said: they stand in the remarks of volumes."""
    for volume in volumes:
        remark = volume.entry.remark if volume.entry is not None else None
        for part in _BETWEEN_REMARKS.split(remark or ""):
            count = find_closing_count(tokenize(part), part)
            if count is not None:
                yield count
