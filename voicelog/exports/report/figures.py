"""The figures of a report, counted; how they look is no concern of this module."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Access, Entry, Kind, Status
from voicelog.domain.error_rate import ErrorRate
from voicelog.exports.report.leaf_map import Cell, LeafMap, SideState, is_off, make_leaf_map
from voicelog.exports.report.timing import BenchTime, LeafClock, sum_up_time
from voicelog.store.log import Corrections
from voicelog.store.note_log import NoteTime
from voicelog.store.recording import Recording


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


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedLog:
    """What one log has of the report's period; each part can be gone through once.

    Attributes:
        volumes: its volumes, void entries left out.
        notes: every note, in the order of being taken down.
        recordings: its recordings.
        corrections: what was changed after it was heard.
        error_rate: what its blind samples have shown.
    """

    volumes: Iterable[VolumeLog]
    notes: Iterable[NoteTime]
    recordings: Iterable[Recording]
    corrections: Corrections
    error_rate: ErrorRate


def count_figures(logs: Iterable[CountedLog]) -> Figures:
    """Count everything that logs say, one volume in memory at a time."""
    counting = _Counting()
    for log in logs:
        counting.add(log)
    return counting.make_figures()


class _Counting:
    """Figures in the making."""

    def __init__(self) -> None:
        self._number: Counter[str] = Counter()
        self._terms: dict[str, Counter[str]] = {name: Counter() for name in _TALLIED}
        self._enclosures: dict[tuple[str | None, str], set[str]] = {}
        self._maps: list[LeafMap] = []
        self._cells: dict[Cell, Cell] = {}
        self._clocks: list[LeafClock] = []
        self._recorded_s = 0.0
        self._corrected: Counter[str] = Counter()
        self._changed_by_reading = 0
        self._rates: list[ErrorRate] = []

    def add(self, log: CountedLog) -> None:
        """Count a log."""
        clock = LeafClock()
        for volume in log.volumes:
            self._add_volume(volume)
            clock.know(volume)
        clock.measure(self._watch(log.notes))
        self._clocks.append(clock)
        for recording in log.recordings:
            self._recorded_s += recording.duration_s or 0.0
        self._corrected.update(dict(log.corrections.by_people))
        self._changed_by_reading += log.corrections.by_reading
        self._rates.append(log.error_rate)

    def make_figures(self) -> Figures:
        """Return what was counted."""
        entries, items = self._number["entries"], self._number["items"]
        of_items = {"item_types", "attachments", "adhesions"}
        tallies = {
            name: _rank(counted, among=items if name in of_items else entries)
            for name, counted in self._terms.items()
        }
        return Figures(
            totals=self._make_totals(),
            **tallies,
            enclosures=self._rank_enclosures(),
            leaf_maps=tuple(self._maps),
            time=sum_up_time(self._clocks),
            corrections=_rank_fields(self._corrected),
            error_rate=ErrorRate(
                judged=sum(one.judged for one in self._rates),
                wrong=sum(one.wrong for one in self._rates),
                waiting=sum(one.waiting for one in self._rates),
            ),
            changed_by_reading=self._changed_by_reading,
        )

    def _watch(self, notes: Iterable[NoteTime]) -> Iterator[NoteTime]:
        for note in notes:
            self._number["notes"] += 1
            self._number["struck"] += note.struck
            yield note

    def _add_volume(self, volume: VolumeLog) -> None:
        self._maps.append(make_leaf_map(volume, same=self._cells))
        for entry in volume.entries:
            self._add_entry(entry)
            if entry.enclosure:
                # Logs hold many enclosures, of few kinds and numbers.
                kind = entry.enclosure.rstrip("0123456789 ")
                number = sys.intern(entry.enclosure[len(kind) :])
                self._enclosures.setdefault((volume.key.accession, kind), set()).add(number)

    def _add_entry(self, entry: Entry) -> None:
        number, terms = self._number, self._terms
        number["entries"] += 1
        number["confirmed"] += entry.status is Status.CONFIRMED
        number["queried"] += entry.status is Status.QUERIED
        number["restricted"] += entry.access is Access.RESTRICTED
        number["missing"] += "missing item" in entry.condition
        terms["conditions"].update(entry.condition)
        terms["actions"].update(entry.action)
        terms["doubts"].update({_say_field(doubt.field) for doubt in entry.doubts})
        if entry.kind is Kind.ITEM:
            number["items"] += 1
            number["pieces"] += entry.quantity
            number["off"] += is_off(entry)
            number["enclosed"] += entry.enclosure is not None
            terms["item_types"].update(entry.item_type)
            terms["attachments"].update(entry.attachment)
            terms["adhesions"].update([str(entry.adhesion)] if entry.adhesion else [])

    def _make_totals(self) -> Totals:
        counted = (
            "items", "pieces", "off", "enclosed", "missing", "entries", "confirmed", "queried",
            "restricted", "notes", "struck",
        )  # fmt: skip
        return Totals(
            volumes=len(self._maps),
            sides=sum(len(one.cells) - one.count(SideState.UNSEEN) for one in self._maps),
            sides_expected=sum(len(one.cells) for one in self._maps),
            recorded_s=self._recorded_s,
            **{name: self._number[name] for name in counted},
        )

    def _rank_enclosures(self) -> Tally:
        """Count the enclosures in use: "envelope 7" named for two items is one envelope."""
        used: Counter[str] = Counter()
        for (_, kind), numbers in self._enclosures.items():
            used[kind] += len(numbers)
        return _rank(used, among=used.total())


_TALLIED = ("item_types", "attachments", "adhesions", "conditions", "actions", "doubts")


def _rank(counted: Counter[str], *, among: int) -> Tally:
    # By number, then by name, so that the same log always gives the same report.
    ranked = sorted(counted.items(), key=lambda pair: (-pair[1], pair[0]))
    return Tally(counts=tuple(Count(name=name, number=n) for name, n in ranked), among=among)


def _rank_fields(counted: Counter[str]) -> Tally:
    said: Counter[str] = Counter()
    for name, number in counted.items():
        said[_say_field(name)] += number
    return _rank(said, among=counted.total())


def _say_field(field: str | None) -> str:
    return "the entry as a whole" if field is None else field.replace("_", " ")
