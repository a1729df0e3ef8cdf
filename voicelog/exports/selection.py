"""Which entries leave the house."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from voicelog.domain.entry import Access, Entry, Kind, Status
from voicelog.store.log import Changes
from voicelog.store.selection import VolumeKey


@dataclass(frozen=True, slots=True, kw_only=True)
class SelectionRules:
    """What leaves beside the entries that are confirmed and open.

    Attributes:
        include_restricted: entries with restricted access leave as well.
        include_unconfirmed: entries that nobody has confirmed leave as well.
        include_audio: the recordings leave as well, in a format that takes them.
        changes: nothing but what is in here leaves; None for no such limit.
        whole_volumes: a changed entry takes its whole volume along, for formats in which a
            volume is one record that replaces the earlier one.
        kinds: the kinds of entries that are asked for at all.
    """

    include_restricted: bool = False
    include_unconfirmed: bool = False
    include_audio: bool = False
    changes: Changes | None = None
    whole_volumes: bool = False
    kinds: frozenset[Kind] = frozenset(Kind)


@dataclass(slots=True, kw_only=True)
class Tally:
    """How many entries left, and how many stayed for which reason."""

    selected: int = 0
    restricted: int = 0
    unconfirmed: int = 0


class Selection:
    """The entries that may leave, in display order; can be gone through any number of times.

    Void entries never leave. What stays is counted, so that nobody takes a file for complete;
    entries that the rules don't ask for are not counted.

    Attributes:
        tally: the counts of the last time that it was gone through to the end.
    """

    def __init__(
        self, read: Callable[[], Iterable[tuple[int, Entry]]], rules: SelectionRules
    ) -> None:
        """Select from entries.

        Args:
            read: gives display number and entry, from the start each time it is called.
            rules: what leaves.
        """
        self._read = read
        self.rules = rules
        self.tally = Tally()

    def __iter__(self) -> Iterator[tuple[int, Entry]]:
        tally = Tally()
        for number, entry in self._read():
            if entry.status is Status.VOID or not self._is_asked_for(entry):
                continue
            if entry.access is Access.RESTRICTED and not self.rules.include_restricted:
                tally.restricted += 1
            elif entry.status is not Status.CONFIRMED and not self.rules.include_unconfirmed:
                tally.unconfirmed += 1
            else:
                tally.selected += 1
                yield number, entry
        self.tally = tally

    def _is_asked_for(self, entry: Entry) -> bool:
        if entry.kind not in self.rules.kinds:
            return False
        changes = self.rules.changes
        if changes is None or entry.id in changes.entries:
            return True
        key = VolumeKey(accession=entry.accession, volume=entry.volume)
        return self.rules.whole_volumes and key in changes.volumes
