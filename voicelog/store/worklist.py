"""A log to work through: what is in which volume and on which side, found and counted.

Everything here is asked of the database itself, so that a log with ten thousand entries
opens as fast as one with ten, and no count is ever remembered from before.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from voicelog.domain.entry import Side, Status
from voicelog.domain.note import Note
from voicelog.store.entry_log import StoredEntry
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.narrow_tally import TALLIED, tally_narrow, without_filters
from voicelog.store.numbering import Numbering
from voicelog.store.rows import parse_origin, row_to_entry, row_to_note
from voicelog.store.selection import Order, Selection, VolumeKey, condition_of
from voicelog.store.wide_list import count_wide, find_rank, find_wide, tally_wide
from voicelog.store.word_index import find_worded


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeSummary:
    """One volume of the log and how many entries of each status it has."""

    key: VolumeKey
    name: str | None
    entries: Mapping[Status, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideSummary:
    """What the log says about one side of a leaf (or a cover, or an insert).

    Attributes:
        leaf: the leaf's label.
        side: recto or verso; None on covers and inserts, or where both sides are meant.
        heard, queried, confirmed: how many entries of each status.
        is_blank: whether it was said to be blank.
        loose: how many items are loose or partly loose.
        images: how many image numbers were given.
    """

    leaf: str
    side: Side | None
    heard: int
    queried: int
    confirmed: int
    is_blank: bool
    loose: int
    images: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One value of a filter and how many entries it would leave."""

    value: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """How many entries a selection has, and how many each filter would leave of them.

    Attributes:
        statuses: by status, as if no status were asked for.
        doubted_fields, cautions, handlers, days: as if that filter were not set.
    """

    statuses: Mapping[Status, int]
    doubted_fields: tuple[Choice, ...]
    cautions: tuple[Choice, ...]
    handlers: tuple[Choice, ...]
    days: tuple[Choice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """An entry by its id, and where it belongs."""

    id: str
    volume: VolumeKey
    leaf: str | None
    side: Side | None
    status: Status


# SQLite takes at most 32,766 parameters: https://www.sqlite.org/limits.html
_AT_ONCE = 1000


_NAME = """(
    SELECT volume_name FROM entries WHERE accession IS volume_counts.accession
    AND volume IS volume_counts.volume AND volume_name IS NOT NULL ORDER BY rank LIMIT 1
)"""


MOST_WORDED = 1000
"""Entries that are found by their words at once; who finds more says more words."""


class WorkListLog(Log):
    """One log folder, open for reading, with the questions that a work list asks."""

    def count_volumes(self) -> int:
        """Return how many volumes there are; what has no volume yet is one too."""
        return self._number("SELECT count(*) FROM volume_counts")

    def volumes(self, *, first: int = 0, most: int = -1) -> tuple[VolumeSummary, ...]:
        """Return volumes in display order; what has no volume yet is one too.

        Args:
            first: how many to pass over.
            most: how many at most; -1 for all that follow.
        """
        rows = self._rows(
            # Names are looked up for those that are listed only.
            f"SELECT *, {_NAME} AS name FROM (SELECT * FROM volume_counts "
            "ORDER BY heard + queried + confirmed = 0, birth LIMIT ? OFFSET ?) AS volume_counts "
            "ORDER BY heard + queried + confirmed = 0, birth",
            [most, first],
        )
        return tuple(map(_read_volume, rows))

    def find_summary(self, volume: VolumeKey) -> VolumeSummary | None:
        """Return one volume, or None where there is no such volume."""
        rows = self._rows(
            f"SELECT *, {_NAME} AS name FROM volume_counts WHERE place = json_array(?, ?)",
            [volume.accession, volume.volume],
        )
        return next(map(_read_volume, rows), None)

    def count_volumes_before(self, volume: VolumeKey) -> int:
        """Return how many volumes are shown before one."""
        return self._number(
            "SELECT count(*) FROM volume_counts AS other, volume_counts AS this "
            "WHERE this.place = json_array(?, ?) "
            "AND (other.heard + other.queried + other.confirmed = 0, other.birth) "
            "< (this.heard + this.queried + this.confirmed = 0, this.birth)",
            [volume.accession, volume.volume],
        )

    def sides(self, volume: VolumeKey) -> tuple[SideSummary, ...]:
        """Return what is known of each side of a volume, in the volume's order."""
        rows = self._rows(
            """
            SELECT leaf, side, min(rank) AS first,
                sum(status = 'heard') AS heard, sum(status = 'queried') AS queried,
                sum(status = 'confirmed') AS confirmed, max(blank) AS is_blank,
                sum(adhesion IN ('loose', 'partly loose')) AS loose,
                sum(json_array_length(images)) AS images
            FROM entries
            WHERE accession IS ? AND volume IS ? AND leaf IS NOT NULL AND status <> 'void'
            GROUP BY leaf, side ORDER BY first
            """,
            [volume.accession, volume.volume],
        )
        return tuple(
            SideSummary(
                leaf=row["leaf"],
                side=None if row["side"] is None else Side(row["side"]),
                heard=row["heard"],
                queried=row["queried"],
                confirmed=row["confirmed"],
                is_blank=bool(row["is_blank"]),
                loose=row["loose"] or 0,
                images=row["images"],
            )
            for row in rows
        )

    def count_leaves(self, volume: VolumeKey) -> int | None:
        """Return how many leaves the volume was said to have, or None."""
        rows = self._rows(
            "SELECT max(leaves) AS leaves FROM entries "
            "WHERE accession IS ? AND volume IS ? AND kind = 'volume' AND status <> 'void'",
            [volume.accession, volume.volume],
        )
        leaves: int | None = rows[0]["leaves"]
        return leaves

    def tally(self, selection: Selection) -> Tally:
        """Count what a selection holds and what each filter would leave of it."""
        selection = self._look_up(selection)
        unfiltered = condition_of(without_filters(selection), include_void=True)
        counted = tally_narrow(
            self._rows(f"SELECT {TALLIED} FROM entries WHERE {unfiltered.sql}", unfiltered.values),
            selection,
        )
        doubts, cautions, handlers, days = (
            tuple(
                Choice(value=value, count=count) for value, count in sorted(counted[name].items())
            )
            for name in ("doubted_field", "caution", "handler", "day")
        )
        return Tally(
            statuses={status: counted["status"][status] for status in Status},
            doubted_fields=doubts,
            cautions=cautions,
            handlers=handlers,
            days=days,
        )

    def place_entries(
        self,
        selection: Selection,
        *,
        order: Order = Order.BOOK,
        also_first: frozenset[str] = frozenset(),
    ) -> tuple[Placed, ...]:
        """Return the entries of a selection in the order wanted, without their values.

        Args:
            selection: which entries.
            order: in which order.
            also_first: ids of entries that stand among the doubtful ones where those are first.
        """
        wanted = condition_of(self._look_up(selection))
        first = ""
        if order is Order.DOUBTFUL_FIRST:
            first = "status <> 'queried' AND id NOT IN (SELECT value FROM json_each(?)), "
            wanted.values.append(json.dumps(sorted(also_first)))
        rows = self._rows(
            "SELECT id, accession, volume, leaf, side, status FROM entries "
            f"WHERE {wanted.sql} ORDER BY {first} status = 'void', rank",
            wanted.values,
        )
        return _place(rows)

    def place_some(
        self, selection: Selection, *, order: Order, first: int, most: int
    ) -> tuple[Placed, ...]:
        """Return a stretch of a list that may be as long as the log.

        Args:
            selection: which entries; neither of one volume nor by ids or words.
            order: in which order; sampled entries that wait count among the doubtful ones.
            first: how many to pass over.
            most: how many at most.
        """
        with explained(self.folder):
            return _place(find_wide(self._database, selection, order, first=first, most=most))

    def count_some(self, selection: Selection, *, most: int) -> int:
        """Return how many entries such a list has; where several filters meet, at most so many."""
        with explained(self.folder):
            return count_wide(self._database, selection, most=most)

    def count_before(self, selection: Selection, id_: str, *, order: Order) -> int | None:
        """Return how many entries of such a list stand before one; None where it isn't there."""
        with explained(self.folder):
            return find_rank(self._database, selection, id_, order)

    def tally_some(self, selection: Selection) -> Tally:
        """Count what such a list could be narrowed to, the filters that are set not regarded."""
        with explained(self.folder):
            choices = tally_wide(self._database)
        doubts, cautions, handlers, days = (
            tuple(Choice(value=value, count=count) for value, count in choices[name])
            for name in ("doubt", "caution", "handler", "day")
        )
        counts = self.count_statuses()
        del selection
        return Tally(
            statuses={status: counts[status] for status in Status},
            doubted_fields=doubts,
            cautions=cautions,
            handlers=handlers,
            days=days,
        )

    def read_entries(self, ids: Sequence[str]) -> tuple[StoredEntry, ...]:
        """Return the entries with these ids that the log has, in the ids' order."""
        found: dict[str, StoredEntry] = {}
        with explained(self.folder):
            numbering = Numbering(self._database)
        for some in _in_portions(ids):
            marks = ", ".join("?" * len(some))
            origins: dict[str, dict[str, Any]] = {}
            for row in self._rows(
                f"SELECT entry, field, origin FROM field_values WHERE entry IN ({marks})", some
            ):
                origins.setdefault(row["entry"], {})[row["field"]] = parse_origin(row["origin"])
            for row in self._rows(f"SELECT * FROM entries WHERE id IN ({marks})", some):
                entry = row_to_entry(row, origins.get(row["id"], {}))
                found[entry.id] = StoredEntry(
                    number=numbering.number(row), version=row["version"], entry=entry
                )
        return tuple(found[id_] for id_ in ids if id_ in found)

    def read_notes(self, numbers: Iterable[int]) -> dict[int, Note]:
        """Return the notes with these numbers that the log has."""
        notes: dict[int, Note] = {}
        for some in _in_portions(sorted(set(numbers))):
            marks = ", ".join("?" * len(some))
            words: dict[int, list[Mapping[str, Any]]] = {}
            for row in self._rows(
                f"SELECT * FROM words WHERE note IN ({marks}) ORDER BY note, rank", some
            ):
                words.setdefault(row["note"], []).append(row)
            for row in self._rows(f"SELECT * FROM notes WHERE number IN ({marks})", some):
                notes[row["number"]] = row_to_note(row, words.get(row["number"], ()))
        return notes

    def read_struck(self, notes: Iterable[int]) -> frozenset[int]:
        """Return the numbers of those among some notes that were struck."""
        rows = self._rows(
            "SELECT note FROM struck_notes WHERE note IN (SELECT value FROM json_each(?))",
            [json.dumps(sorted(notes))],
        )
        return frozenset(row["note"] for row in rows)

    def _look_up(self, selection: Selection) -> Selection:
        """Return a selection with the entries that have its words in their place."""
        if not selection.words:
            return selection
        with explained(self.folder):
            ids = find_worded(self._database, selection.words, limit=MOST_WORDED)
        among = frozenset(ids) & selection.ids if selection.ids else frozenset(ids)
        return replace(selection, words="", ids=among or frozenset({""}))

    def _rows(self, query: str, values: Sequence[Any] = ()) -> list[dict[str, Any]]:
        with explained(self.folder):
            return list(self._database.query(query, list(values)))


def _read_volume(row: Mapping[str, Any]) -> VolumeSummary:
    return VolumeSummary(
        key=VolumeKey(accession=row["accession"], volume=row["volume"]),
        name=row["name"],
        entries={status: row[status] for status in Status},
    )


def _place(rows: Iterable[Mapping[str, Any]]) -> tuple[Placed, ...]:
    # Thousands of rows: what they share is made once.
    volumes: dict[tuple[str | None, str | None], VolumeKey] = {}
    sides: dict[str | None, Side | None] = {None: None, **{str(side): side for side in Side}}
    statuses = {str(status): status for status in Status}
    placed: list[Placed] = []
    for row in rows:
        said = row["accession"], row["volume"]
        if said not in volumes:
            volumes[said] = VolumeKey(accession=said[0], volume=said[1])
        placed.append(
            Placed(
                id=row["id"],
                volume=volumes[said],
                leaf=row["leaf"],
                side=sides[row["side"]],
                status=statuses[row["status"]],
            )
        )
    return tuple(placed)


def _in_portions(items: Sequence[Any]) -> Iterable[list[Any]]:
    for first in range(0, len(items), _AT_ONCE):
        yield list(items[first : first + _AT_ONCE])
