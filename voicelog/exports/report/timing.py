"""How long each leaf took, by the sound of the notes.

A leaf's time runs from its first note to the first note of the next leaf. Only what lies in
recordings is measured: a typed note says nothing about when the work was done.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from voicelog.checks.volumes import VolumeKey, key_of
from voicelog.domain.entry import Entry
from voicelog.domain.note import Note

LONGEST_PAUSE_S = 600.0
"""A longer silence between two notes is a break and counts for no leaf (our choice)."""


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
        leaves: every leaf that was measured, the longest first.
        median_s: the middle one, in seconds; None where nothing was measured.
        total_s: all of them together.
    """

    leaves: tuple[LeafTime, ...]

    @property
    def median_s(self) -> float | None:
        """The time of the leaf in the middle, in seconds; None where nothing was measured."""
        return statistics.median(one.seconds for one in self.leaves) if self.leaves else None

    @property
    def total_s(self) -> float:
        """The time of all leaves together, in seconds."""
        return sum(one.seconds for one in self.leaves)


def measure_time(notes: Iterable[Note], entries: Sequence[Entry]) -> BenchTime:
    """Return how long each leaf took.

    Args:
        notes: the notes of one log, in the order of being taken down.
        entries: its entries.
    """
    leaf_of = _leaves_by_note(entries)
    spent: dict[tuple[VolumeKey, str], float] = {}
    spoken = [note for note in notes if note.recording is not None and note.start_s is not None]
    here: tuple[VolumeKey, str] | None = None
    for note, following in pairwise([*spoken, None]):
        if note is None:
            break
        here = leaf_of.get(note.number, here)
        if here is not None:
            spent[here] = spent.get(here, 0.0) + _time_until(note, following)
    leaves = [
        LeafTime(volume=volume, leaf=leaf, seconds=seconds)
        for (volume, leaf), seconds in spent.items()
    ]
    return BenchTime(leaves=tuple(sorted(leaves, key=lambda one: -one.seconds)))


def _time_until(note: Note, following: Note | None) -> float:
    """Return the seconds from a note's beginning to the next one's, or to its own end."""
    start_s, end_s = note.start_s or 0.0, note.end_s or note.start_s or 0.0
    if following is None or following.recording != note.recording or following.start_s is None:
        return max(0.0, end_s - start_s)
    if following.start_s - end_s > LONGEST_PAUSE_S:
        return max(0.0, end_s - start_s)
    return max(0.0, following.start_s - start_s)


def _leaves_by_note(entries: Sequence[Entry]) -> Mapping[int, tuple[VolumeKey, str]]:
    """Return the leaf that each note is about: that of the entry it made, else changed, last."""
    found: dict[int, tuple[VolumeKey, str]] = {}
    for entry in entries:
        if entry.leaf is None:
            continue
        for number in entry.notes[1:]:
            found.setdefault(number, (key_of(entry), entry.leaf))
    for entry in entries:
        if entry.leaf is not None and entry.notes:
            found[entry.notes[0]] = (key_of(entry), entry.leaf)
    return found
