"""The closing check and the scans it looks at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from voicelog.checks.closing import (
    CheckOptions,
    VolumeFindings,
    find_in_volumes,
    gather_evidence,
)
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.scans.matching import parse_matching, parse_scan_folder, read_scan_set
from voicelog.checks.scans.scan_set import ScanSet
from voicelog.checks.volumes import VolumeKey
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
    stored = log.volumes_one_by_one()
    volumes = map(stored.read, stored.list_keys())
    return read_scan_set(map(parse_scan_folder, folders), volumes, matching, on_read=on_read)


def check_volumes(
    log: Log,
    settings: Settings,
    *,
    counts: Iterable[ClosingCount] = (),
    scans: SeenScans | None = None,
    only: Callable[[VolumeKey], bool] = lambda _key: True,
) -> Iterator[VolumeFindings]:
    """Yield the findings of the closing check volume by volume; accepted ones say why.

    The log must stand still until the last of them.

    Args:
        log: the log.
        settings: what the repository decides.
        counts: closing counts given beside those in the log.
        scans: the images on disk, looked at; None where none are compared.
        only: which volumes are wanted.
    """
    reasons = log.accepted_findings()
    evidence = gather_evidence(
        make_vocabulary(settings), make_check_options(settings), counts=counts, scans=scans
    )
    for found in find_in_volumes(
        log.volumes_one_by_one(), evidence, also=plug_in_checks(), only=only
    ):
        findings = (replace(one, accepted=reasons.get(one.id)) for one in found.findings)
        yield replace(found, findings=tuple(findings))


def check_volume(
    log: Log, accession: str | None, volume: str | None, settings: Settings
) -> tuple[Finding, ...]:
    """Return the findings that closing one volume asks about; accepted ones say why.

    They are those of the volume, and those that are on none, or on one of which the log knows
    no accession number or no name.

    Args:
        log: the log.
        accession: the accession number of the volume.
        volume: the volume, as its entries name it.
        settings: what the repository decides.
    """
    wanted = {VolumeKey(number, name) for number in (accession, None) for name in (volume, None)}
    found = check_volumes(log, settings, only=wanted.__contains__)
    return tuple(finding for its in found for finding in its.findings)
