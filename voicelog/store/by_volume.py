"""The entries of a log, one volume at a time, so that no more than one need be in memory."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from voicelog.checks.log_volumes import NumberedIn
from voicelog.checks.volumes import VolumeKey, VolumeLog
from voicelog.domain.entry import Entry, Origin
from voicelog.store.failures import explained
from voicelog.store.numbering import Numbering
from voicelog.store.rows import parse_origin, row_to_entry


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Entries that follow each other in the log, since accession and volume are the same.

    Attributes:
        accession: as the column has it.
        volume: as the column has it.
        first_rank: the rank of the first of them that isn't void.
        shown_before: how many entries are shown before them.
    """

    accession: str | None
    volume: str | None
    first_rank: int
    shown_before: int


class StoredVolumes:
    """The volumes of a log's file, each read when it is asked for; void entries are left out.

    It knows the log as it was when it was made: nothing may change meanwhile.
    """

    def __init__(self, folder: Path, database: Database) -> None:
        self._folder = folder
        self._database = database
        with explained(folder):
            self._numbering = Numbering(database)
            self._groups = self._list_groups()

    def list_keys(self) -> Sequence[VolumeKey]:
        """Return all volumes, in the order in which the log first names them."""
        return tuple(self._groups)

    def read(self, key: VolumeKey) -> VolumeLog:
        """Return a volume with all its live entries."""
        return VolumeLog(key=key, entries=tuple(entry for _, entry in self.read_numbered(key)))

    def read_numbered(
        self, key: VolumeKey, *, with_sources: bool = True
    ) -> tuple[tuple[int, Entry], ...]:
        """Return display number and entry of all live entries of a volume, in display order.

        Args:
            key: the volume.
            with_sources: whether entries know where their values came from.
        """
        found: list[tuple[int, int, Entry]] = []
        with explained(self._folder):
            for group in self._groups[key]:
                sources = self._read_sources(group, "1") if with_sources else {}
                for number, row in enumerate(self._rows(group), start=group.shown_before + 1):
                    if _name_in(row) == key.volume:
                        entry = row_to_entry(row, sources.get(row["id"], {}))
                        found.append((row["rank"], number, entry))
        if len(self._groups[key]) > 1:
            found.sort(key=itemgetter(0))
        return tuple((number, entry) for _, number, entry in found)

    def outline(self, key: VolumeKey) -> VolumeLog:
        """Return a volume with the entries that comparing volumes needs, and no others.

        Only those that describe the volume know where their values came from.
        """
        found: list[tuple[int, Entry]] = []
        with explained(self._folder):
            for group in self._groups[key]:
                sources = self._read_sources(group, _DESCRIBES)
                is_first = f"rank = {group.first_rank}" if group.volume else "1"
                rows = self._rows(group, f"{_DESCRIBES} OR enclosure IS NOT NULL OR {is_first}")
                found += (
                    (row["rank"], row_to_entry(row, sources.get(row["id"], {})))
                    for row in rows
                    if _name_in(row) == key.volume
                )
        if len(self._groups[key]) > 1:
            found.sort(key=itemgetter(0))
        return VolumeLog(key=key, entries=tuple(entry for _, entry in found))

    def shared_enclosures(self) -> Collection[NumberedIn]:
        """Return the enclosures that things in several volumes of an accession name."""
        with explained(self._folder):
            return frozenset(
                self._database.execute(
                    "SELECT accession, enclosure FROM entries "
                    "WHERE status <> 'void' AND kind <> 'volume' AND enclosure IS NOT NULL "
                    "GROUP BY accession, enclosure "
                    f"HAVING count(DISTINCT json_array({_NAME})) > 1"
                )
            )

    def find_number(self, id_: str, *, include_void: bool = False) -> int | None:
        """Return the display number of an entry; None where it isn't there.

        Args:
            id_: its id.
            include_void: whether a void entry has a number.
        """
        with explained(self._folder):
            row = next(
                self._database.query(
                    "SELECT accession, volume, rank, status FROM entries "
                    "WHERE id = ? AND (? OR status <> 'void')",
                    [id_, include_void],
                ),
                None,
            )
            return None if row is None else self._numbering.number(row)

    def _list_groups(self) -> dict[VolumeKey, list[_Group]]:
        groups: dict[VolumeKey, list[_Group]] = {}
        first_ranks: dict[VolumeKey, int] = {}
        shown_before = 0
        for row in self._database.query(
            "SELECT accession, volume, heard + queried + confirmed AS shown, "
            "(SELECT rank FROM entries WHERE accession IS volume_counts.accession "
            "AND volume IS volume_counts.volume AND status <> 'void' ORDER BY rank LIMIT 1) "
            "AS first_rank FROM volume_counts WHERE shown > 0 ORDER BY first_rank"
        ):
            group = _Group(
                accession=row["accession"],
                volume=row["volume"],
                first_rank=row["first_rank"],
                shown_before=shown_before,
            )
            shown_before += row["shown"]
            for key, first_rank in self._keys_in(group):
                groups.setdefault(key, []).append(group)
                first_ranks[key] = min(first_rank, first_ranks.get(key, first_rank))
        return {key: groups[key] for key in sorted(groups, key=first_ranks.__getitem__)}

    def _keys_in(self, group: _Group) -> Iterator[tuple[VolumeKey, int]]:
        """Yield the volumes that a group is of, with the rank of the first entry of each.

        Without a number, volumes are told from each other by the donor's names for them.
        """
        if group.volume:
            yield VolumeKey(group.accession, group.volume), group.first_rank
            return
        for name, first_rank in self._database.execute(
            f"SELECT {_NAME}, min(rank) FROM entries WHERE {_IN_GROUP} GROUP BY 1",
            [group.accession, group.volume],
        ):
            yield VolumeKey(group.accession, name), first_rank

    def _rows(self, group: _Group, which: str = "1") -> Iterator[Mapping[str, Any]]:
        yield from self._database.query(
            f"SELECT * FROM entries WHERE {_IN_GROUP} AND ({which}) ORDER BY rank",
            [group.accession, group.volume],
        )

    def _read_sources(self, group: _Group, which: str) -> Mapping[str, Mapping[str, Origin]]:
        sources: dict[str, dict[str, Origin]] = {}
        for entry, field, origin in self._database.execute(
            "SELECT entry, field, origin FROM field_values WHERE entry IN "
            f"(SELECT id FROM entries WHERE {_IN_GROUP} AND ({which}))",
            [group.accession, group.volume],
        ):
            sources.setdefault(entry, {})[field] = parse_origin(origin)
        return sources


def _name_in(row: Mapping[str, Any]) -> str | None:
    name: str | None = row["volume"] or row["volume_name"]
    return name


_IN_GROUP = "accession IS ? AND volume IS ? AND status <> 'void'"
_DESCRIBES = "kind = 'volume'"
_NAME = "coalesce(nullif(volume, ''), volume_name)"
