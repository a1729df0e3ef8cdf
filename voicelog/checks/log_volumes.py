"""The volumes of a log one at a time, and as much of all of them as comparing needs."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Protocol

from voicelog.checks.volumes import VolumeKey, VolumeLog, group_volumes
from voicelog.domain.entry import Entry, Kind

NumberedIn = tuple[str | None, str]
"""An accession number and an enclosure: within an accession, a number is one enclosure."""


class LogVolumes(Protocol):
    """A log that gives its volumes one at a time, so that none needs to be kept."""

    def list_keys(self) -> Sequence[VolumeKey]:
        """Return all volumes, in the order in which the log first names them."""
        ...

    def read(self, key: VolumeKey) -> VolumeLog:
        """Return a volume with all its live entries."""
        ...

    def outline(self, key: VolumeKey) -> VolumeLog:
        """Return a volume with the entries that comparing volumes needs, and no others.

        They are its first entry, those that describe it, and those in an enclosure.
        """
        ...

    def shared_enclosures(self) -> Collection[NumberedIn]:
        """Return every enclosure that things in several volumes of an accession are in.

        Others may be among them.
        """
        ...


class VolumesInMemory:
    """The volumes of entries that are all in memory."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        self._volumes = {volume.key: volume for volume in group_volumes(entries)}

    def list_keys(self) -> Sequence[VolumeKey]:
        """Return all volumes, in the order in which the log first names them."""
        return tuple(self._volumes)

    def read(self, key: VolumeKey) -> VolumeLog:
        """Return a volume with all its live entries."""
        return self._volumes[key]

    def outline(self, key: VolumeKey) -> VolumeLog:
        """Return a volume with the entries that comparing volumes needs, and no others."""
        first, *others = self._volumes[key].entries
        return VolumeLog(
            key=key,
            entries=(
                first,
                *(one for one in others if one.kind is Kind.VOLUME or one.enclosure is not None),
            ),
        )

    def shared_enclosures(self) -> Collection[NumberedIn]:
        """Return the enclosures that things in several volumes of an accession name."""
        holders: dict[NumberedIn, set[VolumeKey]] = {}
        for key, volume in self._volumes.items():
            for entry in volume.entries:
                if entry.kind is not Kind.VOLUME and entry.enclosure is not None:
                    holders.setdefault((key.accession, entry.enclosure), set()).add(key)
        return frozenset(one for one, those in holders.items() if len(those) > 1)
