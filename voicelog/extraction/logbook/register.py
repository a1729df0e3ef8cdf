"""The entries of a log in memory, found by id, by side and by volume."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from voicelog.domain.act import is_decided
from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import Entry, Kind, Side, Status
from voicelog.domain.mark import find_free_mark

SideKey = tuple[str | None, str | None, str | None, Side | None]
VolumeKey = tuple[str | None, str | None]


class Register:
    """Entries by id, with the indexes that applying statements needs."""

    def __init__(self) -> None:
        self._entries: dict[str, Entry] = {}
        self._items: dict[SideKey, list[str]] = {}
        self._leaves: dict[SideKey, str] = {}
        self._volumes: dict[VolumeKey, dict[str, None]] = {}
        self._shown: dict[tuple[VolumeKey, str], dict[str, None]] = {}
        self._marks: dict[str, set[str]] = {}
        self._given_out: dict[str, str] = {}

    def get(self, entry_id: str) -> Entry:
        """Return the entry with this id."""
        return self._entries[entry_id]

    def find(self, entry_id: str | None) -> Entry | None:
        """Return the entry with this id, or None."""
        return self._entries.get(entry_id) if entry_id is not None else None

    def put(self, entry: Entry) -> None:
        """Add an entry, or put a changed one in the place of the old."""
        old = self._entries.get(entry.id)
        if old is not None:
            self._unindex(old)
        self._entries[entry.id] = entry
        if entry.status is not Status.VOID:
            self._index(entry)
        if entry.mark is not None and _carries_mark(entry):
            self._marks.setdefault(entry.mark, set()).add(entry.id)

    def items_of(self, key: SideKey) -> list[Entry]:
        """Return the items of one side in their order."""
        return [self._entries[entry_id] for entry_id in self._items.get(key, ())]

    def last_item_number(self, key: SideKey) -> int:
        """Return the highest order that an item of one side has; 0 where there is none."""
        return max((entry.item or 0 for entry in self.items_of(key)), default=0)

    def is_shown_elsewhere(self, caution: str, *, beside: Entry) -> bool:
        """Whether another entry of the volume shows a caution."""
        ids = self._shown.get(((beside.accession, beside.volume), caution), {})
        return any(one != beside.id for one in ids)

    def know_marks(self, entries: Iterable[Entry]) -> None:
        """Learn which marks were given out before: each belongs to its entry for good."""
        for entry in entries:
            if entry.mark is not None and _carries_mark(entry):
                self._given_out[entry.id] = entry.mark
                self._marks.setdefault(entry.mark, set()).add(entry.id)

    def mark_for(self, entry: Entry) -> str | None:
        """Return the mark to write on an item: the one it was given before, else a free one."""
        given = self._given_out.get(entry.id)
        if given is not None:
            return given
        return find_free_mark(
            entry,
            beyond=self.last_item_number(side_key(entry)),
            is_taken=lambda mark: bool(self._marks.get(mark, set()) - {entry.id}),
        )

    def leaf_entry(self, key: SideKey) -> Entry | None:
        """Return the entry for a side as a whole, or None."""
        return self.find(self._leaves.get(key))

    def of_volume(self, key: VolumeKey) -> list[Entry]:
        """Return the entries of one volume, its own entry among them."""
        return [self._entries[entry_id] for entry_id in self._volumes.get(key, ())]

    def volume_entries(self, accession: str | None) -> Iterator[Entry]:
        """Yield the volume entries of one accession in their order."""
        for (key_accession, _), ids in self._volumes.items():
            if key_accession == accession:
                for entry_id in ids:
                    entry = self._entries[entry_id]
                    if entry.kind is Kind.VOLUME:
                        yield entry

    def __iter__(self) -> Iterator[Entry]:
        return iter(self._entries.values())

    def in_order(self) -> tuple[Entry, ...]:
        """Return all entries in display order: by volume, then by place, then by item."""
        return tuple(in_display_order(self._entries.values()))

    def _index(self, entry: Entry) -> None:
        key = side_key(entry)
        volume = (entry.accession, entry.volume)
        self._volumes.setdefault(volume, {})[entry.id] = None
        for caution in entry.cautions:
            self._shown.setdefault((volume, caution), {})[entry.id] = None
        if entry.kind is Kind.LEAF:
            self._leaves[key] = entry.id
        elif entry.kind is Kind.ITEM:
            ids = self._items.setdefault(key, [])
            ids.append(entry.id)
            ids.sort(key=lambda one: self._entries[one].item or 0)

    def _unindex(self, entry: Entry) -> None:
        key = side_key(entry)
        if entry.kind is Kind.ITEM:
            ids = self._items.get(key, [])
            if entry.id in ids:
                ids.remove(entry.id)
        elif entry.kind is Kind.LEAF and self._leaves.get(key) == entry.id:
            del self._leaves[key]
        for caution in entry.cautions:
            self._shown.get(((entry.accession, entry.volume), caution), {}).pop(entry.id, None)
        if entry.mark is not None and self._given_out.get(entry.id) != entry.mark:
            self._marks.get(entry.mark, set()).discard(entry.id)
        volume = self._volumes.get((entry.accession, entry.volume))
        if volume is not None:
            volume.pop(entry.id, None)
            if not volume:
                del self._volumes[entry.accession, entry.volume]


def _carries_mark(entry: Entry) -> bool:
    """Whether an object lies there with this mark on it.

    What a person made void may; what was struck at once never had a mark.
    """
    return entry.status is not Status.VOID or is_decided(entry, "status")


def side_key(entry: Entry) -> SideKey:
    """Return what an entry's side is found by."""
    return (entry.accession, entry.volume, entry.leaf, entry.side)


def moved(entry: Entry, *, accession: str | None, volume: Entry | None) -> Entry:
    """Return the entry as part of another volume."""
    return replace(
        entry,
        accession=accession,
        volume=volume.volume if volume else None,
        volume_name=volume.volume_name if volume else None,
    )
