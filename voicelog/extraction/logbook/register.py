"""The entries of a log in memory, found by id, by side and by volume."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import Entry, Kind, Side, Status

SideKey = tuple[str | None, str | None, str | None, Side | None]
VolumeKey = tuple[str | None, str | None]


class Register:
    """Entries by id, with the indexes that applying statements needs."""

    def __init__(self) -> None:
        self._entries: dict[str, Entry] = {}
        self._items: dict[SideKey, list[str]] = {}
        self._leaves: dict[SideKey, str] = {}
        self._volumes: dict[VolumeKey, dict[str, None]] = {}

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

    def remove(self, entry_id: str) -> None:
        """Forget an entry altogether."""
        self._unindex(self._entries.pop(entry_id))

    def items_of(self, key: SideKey) -> list[Entry]:
        """Return the items of one side in their order."""
        return [self._entries[entry_id] for entry_id in self._items.get(key, ())]

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
        self._volumes.setdefault((entry.accession, entry.volume), {})[entry.id] = None
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
        volume = self._volumes.get((entry.accession, entry.volume))
        if volume is not None:
            volume.pop(entry.id, None)
            if not volume:
                del self._volumes[entry.accession, entry.volume]


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
