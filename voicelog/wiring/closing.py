"""The closing check and the scans it looks at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from voicelog.checks.closing import CheckOptions, find_findings
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.scans.matching import parse_matching, parse_scan_folder, read_scan_set
from voicelog.checks.scans.scan_set import ScanSet
from voicelog.checks.volumes import group_volumes
from voicelog.domain.finding import Finding
from voicelog.extraction.closing_count import ClosingCount
from voicelog.settings import Settings
from voicelog.store.log import Log
from voicelog.wiring.plug_ins import plug_in_checks
from voicelog.wiring.reading import make_vocabulary


def make_check_options(settings: Settings) -> CheckOptions:
    """Return what the repository decides about the closing check."""
    return CheckOptions(
        known_accessions=settings.known_accessions,
        imaged_by=settings.imaged_by,
        least_ppi=settings.scan_least_ppi,
    )


def find_scans(
    log: Log,
    folders: Sequence[str],
    settings: Settings,
    *,
    on_read: Callable[[int, int], None] = lambda _done, _of: None,
) -> ScanSet:
    """Return the scans in some folders and what each shows; only their headers are read.

    Args:
        log: the log that they belong to.
        folders: as the command line names them: ``FOLDER`` or ``VOLUME=FOLDER``.
        settings: say how names tell what a scan shows.
        on_read: told after each file how many of how many were read.

    Raises:
        UnusableInput: a folder is not there or can't be read.
    """
    kept = log.facts().get("reading", {})
    matching = parse_matching(
        settings.scan_names,
        imaged_by=settings.imaged_by,
        first_page=kept.get("first_page", settings.first_page),
    )
    volumes = group_volumes(entry for _, entry in log.iter_entries())
    return read_scan_set(map(parse_scan_folder, folders), volumes, matching, on_read=on_read)


def check_log(
    log: Log,
    settings: Settings,
    *,
    counts: Iterable[ClosingCount] = (),
    scans: SeenScans | None = None,
) -> tuple[Finding, ...]:
    """Return the findings of the closing check; those that somebody accepted say why.

    Args:
        log: the log.
        settings: what the repository decides.
        counts: closing counts given beside those in the log.
        scans: the images on disk, looked at; None where none are compared.
    """
    found = find_findings(
        (entry for _, entry in log.iter_entries()),
        make_vocabulary(settings),
        make_check_options(settings),
        counts=counts,
        scans=scans,
        also=plug_in_checks(),
    )
    reasons = log.accepted_findings()
    return tuple(replace(finding, accepted=reasons.get(finding.id)) for finding in found)
