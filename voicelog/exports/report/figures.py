"""The figures of a report, counted; how they look is no concern of this module."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from voicelog.checks.volumes import VolumeLog, group_volumes
from voicelog.domain.entry import Access, Entry, Kind, Status
from voicelog.domain.error_rate import ErrorRate
from voicelog.exports.report.leaf_map import LeafMap, SideState, is_off, make_leaf_map
from voicelog.exports.report.material import LogMaterial, Material
from voicelog.exports.report.timing import BenchTime, LeafTime, measure_time


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How often something occurs."""

    name: str
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Counts of one kind, the most frequent first.

    Attributes:
        counts: the counts.
        among: how many entries were looked at.
    """

    counts: tuple[Count, ...]
    among: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """The numbers on the first page.

    Attributes:
        volumes: volumes.
        sides: sides of leaves and covers on which something was logged, blank ones too.
        sides_expected: sides that the volumes should have.
        items: items logged.
        pieces: pieces that these come to ("three postcards" are one item).
        off: items that are loose, were taken out, or are gone.
        enclosed: items that went into an enclosure.
        missing: items said to be missing.
        entries: all entries.
        confirmed: entries that a person has confirmed.
        queried: entries that a person has to look at.
        restricted: entries with restricted access.
        notes: notes taken.
        struck: notes taken back by voice.
        recorded_s: seconds of sound.
    """

    volumes: int
    sides: int
    sides_expected: int
    items: int
    pieces: int
    off: int
    enclosed: int
    missing: int
    entries: int
    confirmed: int
    queried: int
    restricted: int
    notes: int
    struck: int
    recorded_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Everything that a report shows of the logs themselves.

    Attributes:
        totals: the numbers on the first page.
        item_types: items by type.
        attachments: items by how they are held.
        adhesions: items by how firmly they hold.
        conditions: entries by condition.
        actions: entries by what was done.
        enclosures: enclosures in use, by kind.
        doubts: reasons to look again, by the field they are about.
        leaf_maps: one for each volume.
        time: how long the leaves took.
        corrections: values changed by people, by field.
        error_rate: what the blind samples of all logs have shown together.
        changed_by_reading: values that came out differently when read again.
    """

    totals: Totals
    item_types: Tally
    attachments: Tally
    adhesions: Tally
    conditions: Tally
    actions: Tally
    enclosures: Tally
    doubts: Tally
    leaf_maps: tuple[LeafMap, ...]
    time: BenchTime
    corrections: Tally
    error_rate: ErrorRate
    changed_by_reading: int


def count_figures(material: Material) -> Figures:
    """Count everything that the logs say."""
    kept = material.logs
    entries = [entry for log in kept for _, entry in log.entries]
    items = [entry for entry in entries if entry.kind is Kind.ITEM]
    volumes = [volume for log in kept for volume in group_volumes(one for _, one in log.entries)]
    maps = tuple(make_leaf_map(volume) for volume in volumes)
    return Figures(
        totals=_count_totals(entries, kept, maps),
        item_types=_tally((entry.item_type for entry in items), among=len(items)),
        attachments=_tally((entry.attachment for entry in items), among=len(items)),
        adhesions=_tally(
            ((str(entry.adhesion),) for entry in items if entry.adhesion), among=len(items)
        ),
        conditions=_tally((entry.condition for entry in entries), among=len(entries)),
        actions=_tally((entry.action for entry in entries), among=len(entries)),
        enclosures=_count_enclosures(volumes),
        doubts=_tally(
            ({_say_field(doubt.field) for doubt in entry.doubts} for entry in entries),
            among=len(entries),
        ),
        leaf_maps=maps,
        time=_measure(kept),
        corrections=_add_up(log.corrections.by_people for log in kept),
        error_rate=ErrorRate(
            judged=sum(log.error_rate.judged for log in kept),
            wrong=sum(log.error_rate.wrong for log in kept),
            waiting=sum(log.error_rate.waiting for log in kept),
        ),
        changed_by_reading=sum(log.corrections.by_reading for log in kept),
    )


def _count_totals(
    entries: list[Entry], logs: tuple[LogMaterial, ...], maps: tuple[LeafMap, ...]
) -> Totals:
    items = [entry for entry in entries if entry.kind is Kind.ITEM]
    notes = [state for log in logs for state in log.notes]
    return Totals(
        volumes=len(maps),
        sides=sum(len(one.cells) - one.count(SideState.UNSEEN) for one in maps),
        sides_expected=sum(len(one.cells) for one in maps),
        items=len(items),
        pieces=sum(entry.quantity for entry in items),
        off=sum(is_off(entry) for entry in items),
        enclosed=sum(entry.enclosure is not None for entry in items),
        missing=sum("missing item" in entry.condition for entry in entries),
        entries=len(entries),
        confirmed=sum(entry.status is Status.CONFIRMED for entry in entries),
        queried=sum(entry.status is Status.QUERIED for entry in entries),
        restricted=sum(entry.access is Access.RESTRICTED for entry in entries),
        notes=len(notes),
        struck=sum(state.struck for state in notes),
        recorded_s=sum(one.duration_s or 0.0 for log in logs for one in log.recordings),
    )


def _tally(values: Iterable[Iterable[str]], *, among: int) -> Tally:
    counted = Counter(name for names in values for name in names)
    # By number, then by name, so that the same log always gives the same report.
    ranked = sorted(counted.items(), key=lambda pair: (-pair[1], pair[0]))
    return Tally(counts=tuple(Count(name=name, number=n) for name, n in ranked), among=among)


def _count_enclosures(volumes: list[VolumeLog]) -> Tally:
    """Count the enclosures in use: "envelope 7" named for two items is one envelope."""
    used = {
        (volume.key.accession, entry.enclosure)
        for volume in volumes
        for entry in volume.entries
        if entry.enclosure
    }
    return _tally(((name.rstrip("0123456789 "),) for _, name in used), among=len(used))


def _add_up(tallies: Iterable[tuple[tuple[str, int], ...]]) -> Tally:
    counted: Counter[str] = Counter()
    for tally in tallies:
        counted.update(dict(tally))
    return _tally(
        ([_say_field(name)] * number for name, number in counted.items()), among=counted.total()
    )


def _say_field(field: str | None) -> str:
    return "the entry as a whole" if field is None else field.replace("_", " ")


def _measure(logs: tuple[LogMaterial, ...]) -> BenchTime:
    leaves: list[LeafTime] = []
    for log in logs:
        entries = [entry for _, entry in log.entries]
        leaves += measure_time((state.note for state in log.notes), entries).leaves
    return BenchTime(leaves=tuple(sorted(leaves, key=lambda one: -one.seconds)))
