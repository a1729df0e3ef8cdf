"""The entries of a log in memory, found by id, by side and by volume."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import Entry, Kind, Side, Status
from voicelog.domain.mark import carries_mark, find_free_mark
from voicelog.domain.shelf import EMPTY_SHELF, Shelf, Shelved, VolumeKey

SideKey = tuple[str | None, str | None, str | None, Side | None]


class Register:
    """Entries by id, with the indexes that applying statements needs.

    What was read earlier may lie on a shelf; a volume is taken from there when something in it
    is asked for. Whatever several entries are returned stands in the order in which they came
    into being.

    Args:
        shelf: where the entries lie that were read before.
    """

    def __init__(self, shelf: Shelf = EMPTY_SHELF) -> None:
        self._shelf = shelf
        self._fetched: set[VolumeKey] = set()
        self._accessions_fetched: set[str | None] = set()
        self._entries: dict[str, Entry] = {}
        self._births: dict[str, int] = {}
        self._next_birth = shelf.next_birth()
        self._items: dict[SideKey, dict[str, None]] = {}
        self._leaves: dict[SideKey, dict[str, None]] = {}
        self._volumes: dict[VolumeKey, dict[str, None]] = {}
        self._of_accession: dict[str | None, dict[str, None]] = {}
        self._shown: dict[tuple[VolumeKey, str], dict[str, None]] = {}
        self._marks: dict[str, set[str]] = {}
        self._given_out: dict[str, str] = {}

    def get(self, entry_id: str) -> Entry:
        """Return the entry with this id."""
        found = self.find(entry_id)
        if found is None:
            raise KeyError(entry_id)
        return found

    def find(self, entry_id: str | None) -> Entry | None:
        """Return the entry with this id, or None."""
        if entry_id is None:
            return None
        if entry_id not in self._entries:
            shelved = self._shelf.find(entry_id)
            if shelved is not None:
                self._fetch((shelved.entry.accession, shelved.entry.volume))
                self._take_from_shelf(shelved)
        return self._entries.get(entry_id)

    def put(self, entry: Entry) -> None:
        """Add an entry, or put a changed one in the place of the old."""
        old = self.find(entry.id)
        self._fetch((entry.accession, entry.volume))
        if old is not None:
            self._unindex(old)
        else:
            self._births[entry.id] = self._next_birth
            self._next_birth += 1
        self._keep(entry)

    def items_of(self, key: SideKey) -> list[Entry]:
        """Return the items of one side in their order."""
        self._fetch(key[:2])
        items = self._in_order_of_birth(self._items.get(key, ()))
        return sorted(items, key=lambda item: item.item or 0)

    def last_item_number(self, key: SideKey) -> int:
        """Return the highest order that an item of one side has; 0 where there is none."""
        return max((entry.item or 0 for entry in self.items_of(key)), default=0)

    def is_shown_elsewhere(self, caution: str, *, beside: Entry) -> bool:
        """Whether another entry of the volume shows a caution."""
        volume = (beside.accession, beside.volume)
        self._fetch(volume)
        return any(one != beside.id for one in self._shown.get((volume, caution), ()))

    def know_marks(self, entries: Iterable[Entry]) -> None:
        """Learn which marks were given out before: each belongs to its entry for good."""
        for entry in entries:
            if entry.mark is not None and carries_mark(entry):
                self._give_out(entry.id, entry.mark)

    def mark_for(self, entry: Entry) -> str | None:
        """Return the mark to write on an item: the one it was given before, else a free one."""
        given = self._given_out.get(entry.id)
        if given is not None:
            return given
        return find_free_mark(
            entry,
            beyond=self.last_item_number(side_key(entry)),
            is_taken=lambda mark: self._is_taken(mark, beside=entry.id),
        )

    def leaf_entry(self, key: SideKey) -> Entry | None:
        """Return the entry for a side as a whole, or None; of several the latest."""
        self._fetch(key[:2])
        leaves = self._in_order_of_birth(self._leaves.get(key, ()))
        return leaves[-1] if leaves else None

    def of_volume(self, key: VolumeKey) -> list[Entry]:
        """Return the entries of one volume, its own entry among them."""
        self._fetch(key)
        return self._in_order_of_birth(self._volumes.get(key, ()))

    def volume_entries(self, accession: str | None) -> list[Entry]:
        """Return the volume entries of one accession."""
        if accession not in self._accessions_fetched:
            self._accessions_fetched.add(accession)
            for shelved in self._shelf.volume_entries(accession):
                self._take_from_shelf(shelved)
        return self._in_order_of_birth(self._of_accession.get(accession, ()))

    def in_order(self) -> tuple[Entry, ...]:
        """Return all entries in display order: by volume, then by place, then by item."""
        for key in self._shelf.volumes():
            self._fetch(key)
        return tuple(in_display_order(self._in_order_of_birth(self._entries)))

    def born_in_order(self) -> tuple[str, ...]:
        """Return the ids of the entries in memory in the order in which they came into being."""
        return tuple(entry.id for entry in self._in_order_of_birth(self._entries))

    def _fetch(self, key: VolumeKey) -> None:
        if key in self._fetched:
            return
        self._fetched.add(key)
        for shelved in self._shelf.of_volume(key):
            self._take_from_shelf(shelved)

    def _take_from_shelf(self, shelved: Shelved) -> None:
        entry = shelved.entry
        if entry.id in self._entries:
            return  # It may have changed since.
        self._births[entry.id] = shelved.birth
        if shelved.mark is not None:
            self._give_out(entry.id, shelved.mark)
        self._keep(entry)

    def _keep(self, entry: Entry) -> None:
        self._entries[entry.id] = entry
        if entry.status is not Status.VOID:
            self._index(entry)
        if entry.mark is not None and carries_mark(entry):
            self._marks.setdefault(entry.mark, set()).add(entry.id)

    def _give_out(self, entry_id: str, mark: str) -> None:
        self._given_out[entry_id] = mark
        self._marks.setdefault(mark, set()).add(entry_id)

    def _is_taken(self, mark: str, *, beside: str) -> bool:
        on_shelf = {one for one in self._shelf.marked(mark) if one not in self._entries}
        return bool((self._marks.get(mark, set()) | on_shelf) - {beside})

    def _in_order_of_birth(self, ids: Iterable[str]) -> list[Entry]:
        return [self._entries[one] for one in sorted(ids, key=self._births.__getitem__)]

    def _index(self, entry: Entry) -> None:
        key = side_key(entry)
        volume = (entry.accession, entry.volume)
        self._volumes.setdefault(volume, {})[entry.id] = None
        for caution in entry.cautions:
            self._shown.setdefault((volume, caution), {})[entry.id] = None
        match entry.kind:
            case Kind.LEAF:
                self._leaves.setdefault(key, {})[entry.id] = None
            case Kind.ITEM:
                self._items.setdefault(key, {})[entry.id] = None
            case Kind.VOLUME:
                self._of_accession.setdefault(entry.accession, {})[entry.id] = None

    def _unindex(self, entry: Entry) -> None:
        key = side_key(entry)
        for index in (self._items, self._leaves):
            index.get(key, {}).pop(entry.id, None)
        self._of_accession.get(entry.accession, {}).pop(entry.id, None)
        for caution in entry.cautions:
            self._shown.get(((entry.accession, entry.volume), caution), {}).pop(entry.id, None)
        if entry.mark is not None and self._given_out.get(entry.id) != entry.mark:
            self._marks.get(entry.mark, set()).discard(entry.id)
        self._volumes.get((entry.accession, entry.volume), {}).pop(entry.id, None)


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
