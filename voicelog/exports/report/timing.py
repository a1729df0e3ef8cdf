"""How long each leaf took, by the sound of the notes.

A leaf's time runs from its first note to the first note of the next leaf. Only what lies in
recordings is measured: a typed note says nothing about when the work was done.
"""

from __future__ import annotations

import heapq
import statistics
from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from voicelog.checks.volumes import VolumeKey, VolumeLog
from voicelog.store.note_log import NoteTime

LONGEST_PAUSE_S = 600.0
"""A longer silence between two notes is a break and counts for no leaf (our choice)."""

_LISTED = 10
_NO_LEAF = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class LeafTime:
    """The time that one leaf took.

    Attributes:
        volume: the volume.
        leaf: the leaf.
        seconds: how long was spoken and worked there.
    """

    volume: VolumeKey
    leaf: str
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchTime:
    """The time of all leaves.

    Attributes:
        longest: the ten that took longest, the longest first.
        leaves: how many were measured.
        median_s: the time of the leaf in the middle, in seconds; None where nothing was measured.
        total_s: the time of all leaves together, in seconds.
    """

    longest: tuple[LeafTime, ...]
    leaves: int
    median_s: float | None
    total_s: float


class LeafClock:
    """Measures the leaves of one log: it is told of its volumes, and then of its notes.

    It takes a few bytes for each note and leaf, however many there are.
    """

    def __init__(self) -> None:
        self._volumes: list[VolumeKey] = []
        self._labels: list[str] = []
        self._same_labels: dict[str, str] = {}
        self._volume_of = array("l")
        self._made = array("l")
        self._changed = array("l")
        self._spent_s = array("d")
        self._measured = array("l")

    def know(self, volume: VolumeLog) -> None:
        """Take in which notes are about which leaf of a volume.

        A note is about the leaf of the entry it made, the last such; else of the first entry
        that it changed.
        """
        leaves: dict[str, int] = {}
        for entry in volume.entries:
            if entry.leaf is None or not entry.notes:
                continue
            if entry.leaf not in leaves:
                leaves[entry.leaf] = len(self._labels)
                self._labels.append(self._same_labels.setdefault(entry.leaf, entry.leaf))
                self._volume_of.append(len(self._volumes))
            leaf = leaves[entry.leaf]
            made, *changed = entry.notes
            _put(self._made, made, leaf)
            for number in changed:
                if _get(self._changed, number) == _NO_LEAF:
                    _put(self._changed, number, leaf)
        self._volumes.append(volume.key)

    def measure(self, notes: Iterable[NoteTime]) -> None:
        """Add up the times of the leaves.

        Args:
            notes: in the order of being taken down; typed ones are passed over.
        """
        self._spent_s = array("d", [_NO_LEAF]) * len(self._labels)
        here = _NO_LEAF
        for note, following in pairwise(_then_none(filter(_is_spoken, notes))):
            if note is None:
                break
            found = _get(self._made, note.number)
            if found == _NO_LEAF:
                found = _get(self._changed, note.number)
            here = here if found == _NO_LEAF else found
            if here == _NO_LEAF:
                continue
            if self._spent_s[here] < 0:
                self._spent_s[here] = 0.0
                self._measured.append(here)
            self._spent_s[here] += _time_until(note, following)

    def iter_seconds(self) -> Iterator[float]:
        """Yield the seconds of each leaf that was measured, in the order of its first note."""
        for leaf in self._measured:
            yield self._spent_s[leaf]

    def iter_times(self) -> Iterator[LeafTime]:
        """Yield the leaves that were measured, in the order of their first notes."""
        for leaf in self._measured:
            yield LeafTime(
                volume=self._volumes[self._volume_of[leaf]],
                leaf=self._labels[leaf],
                seconds=self._spent_s[leaf],
            )


def sum_up_time(clocks: Iterable[LeafClock]) -> BenchTime:
    """Return what the clocks of some logs have measured together."""
    clocks = list(clocks)
    seconds = sorted((one for clock in clocks for one in clock.iter_seconds()), reverse=True)
    times = (one for clock in clocks for one in clock.iter_times())
    return BenchTime(
        longest=tuple(heapq.nsmallest(_LISTED, times, key=lambda one: -one.seconds)),
        leaves=len(seconds),
        median_s=statistics.median(seconds) if seconds else None,
        total_s=sum(seconds),
    )


def _is_spoken(note: NoteTime) -> bool:
    return note.recording is not None and note.start_s is not None


def _then_none(notes: Iterable[NoteTime]) -> Iterator[NoteTime | None]:
    yield from notes
    yield None


def _get(leaves: array[int], number: int) -> int:
    return leaves[number] if number < len(leaves) else _NO_LEAF


def _put(leaves: array[int], number: int, leaf: int) -> None:
    if number >= len(leaves):
        leaves.extend(array("l", [_NO_LEAF]) * (number + 1 - len(leaves)))
    leaves[number] = leaf


def _time_until(note: NoteTime, following: NoteTime | None) -> float:
    """Return the seconds from a note's beginning to the next one's, or to its own end."""
    start_s, end_s = note.start_s or 0.0, note.end_s or note.start_s or 0.0
    if following is None or following.recording != note.recording or following.start_s is None:
        return max(0.0, end_s - start_s)
    if following.start_s - end_s > LONGEST_PAUSE_S:
        return max(0.0, end_s - start_s)
    return max(0.0, following.start_s - start_s)
