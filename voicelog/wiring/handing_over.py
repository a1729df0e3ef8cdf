"""What leaves the house: exports and reports."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from voicelog.checks.scans.scan_set import ScanSet
from voicelog.domain.finding import Finding
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk_file import load_crosswalk
from voicelog.exports.report.material import LogMaterial, Material, Period, read_log
from voicelog.exports.scans import withhold_restricted
from voicelog.exports.selection import Selection, SelectionRules
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.plan import plan_volumes
from voicelog.housing.supplies import list_supplies
from voicelog.housing.triage import rank_volumes
from voicelog.housing.volumes import group_by_volume
from voicelog.settings import Settings
from voicelog.store.log import Log
from voicelog.wiring.closing import check_volumes
from voicelog.wiring.housing import make_stock, make_triage_parts
from voicelog.wiring.reading import make_vocabulary


def make_consignment(
    log: Log, settings: Settings, rules: SelectionRules, *, scans: ScanSet | None = None
) -> Consignment:
    """Return what an export of a log is made of."""
    if scans is not None and not rules.include_restricted:
        scans = withhold_restricted(scans, (entry for _, entry in log.iter_entries()))
    return Consignment(
        log=log,
        selection=Selection(log.iter_entries, rules),
        as_of=log.last_change(),
        repository=settings.repository,
        vocabulary=make_vocabulary(settings),
        iiif_base_url=settings.iiif_base_url,
        crosswalk=load_crosswalk(settings.crosswalk_file),
        scans=scans,
    )


def gather_report(folders: Iterable[Path], settings: Settings, period: Period) -> Material:
    """Return what a report on some logs is made from.

    Raises:
        UsageError: one of the folders is no log.
        StoreError: one of them can't be read.
    """
    logs: list[LogMaterial] = []
    findings: list[Finding] = []
    for folder in folders:
        with Log.open(folder) as log:
            logs.append(read_log(log, period))
            for found in check_volumes(log, settings):
                findings += found.findings
    stock = make_stock(settings)
    volumes = [volume for log in logs for volume in group_by_volume(log.entries)]
    plans = plan_volumes(volumes, stock, load_interleaving_rules())
    return Material(
        logs=tuple(logs),
        repository=settings.repository,
        period=period,
        findings=tuple(findings),
        supplies=list_supplies((plan.needs() for plan in plans), stock),
        currency=stock.currency,
        ranking=rank_volumes(volumes, make_triage_parts(settings)),
    )
