"""Which volume of another bench is which of ours, and what it is called here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from voicelog.domain.entry import Entry, Kind, Status

VolumeKey = tuple[str | None, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Same:
    """A volume that both benches have.

    Attributes:
        here: our entry for it.
        there: theirs.
    """

    here: Entry
    there: Entry

    @property
    def name(self) -> str | None:
        """The donor's name for it: as it is here, else as it is there."""
        return self.here.volume_name or self.there.volume_name


class VolumeNames:
    """Volumes of another bench by what they are called here.

    A volume is the same where accession and number are, or where the donor's name is: one
    bench may have said "volume one, the green book" and the other only "the green book".
    """

    def __init__(self, ours: Iterable[Entry], theirs: Iterable[Entry]) -> None:
        self._here = [entry for entry in ours if entry.kind is Kind.VOLUME]
        self._same: dict[VolumeKey, Same] = {}
        self._here_of: dict[str, Entry] = {}
        for entry in theirs:
            if entry.kind is Kind.VOLUME and entry.status is not Status.VOID:
                found = self._find(entry)
                if found is not None:
                    self._same[entry.accession, entry.volume] = Same(here=found, there=entry)
                    self._here_of[entry.id] = found

    def pairs(self) -> Iterable[Same]:
        """Return the volumes that both benches have."""
        return self._same.values()

    def volume_here(self, entry: Entry) -> Entry | None:
        """Return our volume entry for a volume entry of theirs, or None."""
        return self._here_of.get(entry.id)

    def as_here(self, entry: Entry) -> Entry:
        """Return an entry of theirs with its volume called as it is here."""
        same = self._same.get((entry.accession, entry.volume))
        if same is None:
            return entry
        return replace(entry, volume=same.here.volume, volume_name=same.name)

    def _find(self, entry: Entry) -> Entry | None:
        candidates = [one for one in self._here if one.accession == entry.accession]
        for one in candidates:
            if one.volume == entry.volume:
                return one
        names = {_compared(entry.volume_name), _compared(entry.volume)} - {None}
        for one in candidates:
            if names & {_compared(one.volume_name), _compared(one.volume)}:
                return one
        return None


def _compared(name: str | None) -> str | None:
    """Return a name as it is compared: without article, capitals, spaces and hyphens."""
    if name is None:
        return None
    plain = name.casefold().removeprefix("the ")
    return "".join(plain.replace("-", " ").split())
