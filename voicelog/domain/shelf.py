"""Where a logbook finds the entries that were read before it was opened."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from voicelog.domain.entry import Entry

VolumeKey = tuple[str | None, str | None]
"""Accession and volume, as entries name them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelved:
    """An entry as it was read.

    Attributes:
        entry: the entry.
        birth: grows with the order in which entries came into being.
        mark: the mark that was given out to it and is its own for good, or None.
    """

    entry: Entry
    birth: int
    mark: str | None


class Shelf(Protocol):
    """Entries that were read before; each question costs no more than its answer."""

    def next_birth(self) -> int:
        """Return a number beyond every birth on the shelf."""

    def find(self, entry_id: str) -> Shelved | None:
        """Return an entry, void or not; None where the notes don't give it."""

    def of_volume(self, key: VolumeKey) -> Iterable[Shelved]:
        """Return the entries of a volume, void ones too."""

    def volume_entries(self, accession: str | None) -> Iterable[Shelved]:
        """Return the entries that describe volumes of an accession."""

    def marked(self, mark: str) -> Iterable[str]:
        """Return the ids of the entries whose object carries a mark."""

    def volumes(self) -> Iterable[VolumeKey]:
        """Return all volumes."""


class _EmptyShelf:
    """Nothing was read before."""

    def next_birth(self) -> int:
        return 0

    def find(self, entry_id: str) -> Shelved | None:
        del entry_id
        return None

    def of_volume(self, key: VolumeKey) -> Iterable[Shelved]:
        del key
        return ()

    def volume_entries(self, accession: str | None) -> Iterable[Shelved]:
        del accession
        return ()

    def marked(self, mark: str) -> Iterable[str]:
        del mark
        return ()

    def volumes(self) -> Iterable[VolumeKey]:
        return ()


EMPTY_SHELF: Shelf = _EmptyShelf()
