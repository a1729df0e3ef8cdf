"""What leaves the house: exports and reports."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from voicelog.checks.scans.scan_set import ScanSet
from voicelog.checks.volumes import VolumeLog
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk_file import load_crosswalk
from voicelog.exports.report.figures import CountedLog, Figures, count_figures
from voicelog.exports.report.material import (
    FindingsInShort,
    Material,
    NamedLog,
    Period,
    add_findings,
    iter_volumes,
    mark_restricted,
    read_log,
    sum_up_findings,
)
from voicelog.exports.scans import withhold_restricted
from voicelog.exports.selection import Selection, SelectionRules
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.plan import plan_volumes
from voicelog.housing.supplies import list_supplies
from voicelog.housing.triage import Ranked, score_volume, sort_by_need
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
    gathering = _Gathering(settings, period)
    figures = count_figures(map(gathering.count, gathering.iter_logs(folders)))
    return gathering.make_material(figures)


class _Gathering:
    """What a report says, gathered while the volumes of its logs pass by, each once or twice."""

    def __init__(self, settings: Settings, period: Period) -> None:
        self._settings = settings
        self._period = period
        self._stock = make_stock(settings)
        self._interleaving = load_interleaving_rules()
        self._parts = make_triage_parts(settings)
        self._named: list[NamedLog] = []
        self._found: list[FindingsInShort] = []
        self._needs: Counter[str] = Counter()
        self._ranked: list[Ranked] = []

    def iter_logs(self, folders: Iterable[Path]) -> Iterator[Log]:
        """Yield the logs, each open and standing still until the next is asked for."""
        for folder in folders:
            with Log.open(folder) as log, log.standing_still():
                yield log

    def count(self, log: Log) -> CountedLog:
        """Return what is to be counted of a log."""
        self._named.append(NamedLog(name=log.folder.resolve().name, as_of=log.last_change()))
        self._found.append(
            sum_up_findings(
                finding
                for its in check_volumes(log, self._settings)
                for finding in mark_restricted(its.volume, its.findings)
            )
        )
        return read_log(log, self._iter_volumes(log), self._period)

    def make_material(self, figures: Figures) -> Material:
        """Return everything, once the logs were counted."""
        return Material(
            logs=tuple(self._named),
            figures=figures,
            repository=self._settings.repository,
            period=self._period,
            findings=add_findings(self._found),
            supplies=list_supplies([self._needs], self._stock),
            currency=self._stock.currency,
            ranking=sort_by_need(self._ranked),
        )

    def _iter_volumes(self, log: Log) -> Iterator[VolumeLog]:
        for rows in iter_volumes(log, self._period):
            (housed,) = group_by_volume(rows)
            (plan,) = plan_volumes([housed], self._stock, self._interleaving)
            self._needs.update(plan.needs())
            ranked = score_volume(housed, self._parts)
            self._ranked.append(replace(ranked, volume=housed.without_entries()))
            yield VolumeLog(key=housed.key, entries=tuple(entry for _, entry in rows))
