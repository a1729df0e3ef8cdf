"""A log to work through: what is in which volume and on which side, found and counted.

Everything here is asked of the database itself, so that a log with ten thousand entries
opens as fast as one with ten, and no count is ever remembered from before.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

from voicelog.domain.entry import Side, Status
from voicelog.domain.note import Note
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.reviewed_log import StoredEntry
from voicelog.store.rows import parse_origin, row_to_entry, row_to_note


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeKey:
    """What the entries of one volume share; None where it wasn't said."""

    accession: str | None
    volume: str | None


class Order(StrEnum):
    """In which order entries are worked through."""

    BOOK = "book"
    DOUBTFUL_FIRST = "doubtful"


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Which entries are wanted; what is None or empty doesn't narrow it.

    Attributes:
        volume: of one volume.
        leaf: on one leaf, by its label.
        status: of one status; void entries are only there when asked for.
        doubted_field: with a doubt about this field.
        caution: with this caution, by its id.
        handler: dictated by this person.
        day: dictated on this day, "2031-05-02".
        ids: among these, by their ids.
    """

    volume: VolumeKey | None = None
    leaf: str | None = None
    status: Status | None = None
    doubted_field: str | None = None
    caution: str | None = None
    handler: str | None = None
    day: str | None = None
    ids: frozenset[str] = frozenset()


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


@dataclass(frozen=True, slots=True)
class _Condition:
    sql: str
    values: list[Any] = field(default_factory=list)


_NUMBERS = """
    SELECT id, row_number() OVER (ORDER BY status = 'void', rank) AS number FROM entries
"""
_DOUBTED = "SELECT json_extract(doubt.value, '$.field') FROM json_each(entries.doubts) AS doubt"
# SQLite takes at most 32,766 parameters: https://www.sqlite.org/limits.html
_AT_ONCE = 1000


class WorkListLog(Log):
    """One log folder, open for reading, with the questions that a work list asks."""

    def volumes(self) -> tuple[VolumeSummary, ...]:
        """Return the volumes in display order; what has no volume yet is one too."""
        rows = self._rows("""
            SELECT accession, volume, max(volume_name) AS name, min(rank) AS first,
                sum(status = 'heard') AS heard, sum(status = 'queried') AS queried,
                sum(status = 'confirmed') AS confirmed, sum(status = 'void') AS void
            FROM entries GROUP BY accession, volume
            ORDER BY sum(status <> 'void') = 0, first
        """)
        return tuple(
            VolumeSummary(
                key=VolumeKey(accession=row["accession"], volume=row["volume"]),
                name=row["name"],
                entries={status: row[status] for status in Status},
            )
            for row in rows
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
        any_status = _condition(replace(selection, status=None), include_void=True)
        counted = self._rows(
            f"SELECT status, count(*) AS count FROM entries WHERE {any_status.sql} GROUP BY status",
            any_status.values,
        )
        counts = {row["status"]: row["count"] for row in counted}
        return Tally(
            statuses={status: counts.get(status, 0) for status in Status},
            doubted_fields=self._choices(
                "json_extract(part.value, '$.field')",
                replace(selection, doubted_field=None),
                part="json_each(entries.doubts) AS part",
            ),
            cautions=self._choices(
                "part.value",
                replace(selection, caution=None),
                part="json_each(entries.cautions) AS part",
            ),
            handlers=self._choices("handler", replace(selection, handler=None)),
            days=self._choices("substr(recorded_at, 1, 10)", replace(selection, day=None)),
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
        wanted = _condition(selection)
        first = ""
        if order is Order.DOUBTFUL_FIRST:
            first = "status <> 'queried' AND id NOT IN (SELECT value FROM json_each(?)), "
            wanted.values.append(json.dumps(sorted(also_first)))
        rows = self._rows(
            "SELECT id, accession, volume, leaf, side, status FROM entries "
            f"WHERE {wanted.sql} ORDER BY {first} status = 'void', rank",
            wanted.values,
        )
        # Ten thousand rows: what they share is made once.
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

    def read_entries(self, ids: Sequence[str]) -> tuple[StoredEntry, ...]:
        """Return the entries with these ids that the log has, in the ids' order."""
        found: dict[str, StoredEntry] = {}
        for some in _in_portions(ids):
            marks = ", ".join("?" * len(some))
            origins: dict[str, dict[str, Any]] = {}
            for row in self._rows(
                f"SELECT entry, field, origin FROM field_values WHERE entry IN ({marks})", some
            ):
                origins.setdefault(row["entry"], {})[row["field"]] = parse_origin(row["origin"])
            for row in self._rows(
                f"SELECT entries.*, numbers.number FROM entries JOIN ({_NUMBERS}) AS numbers "
                f"USING (id) WHERE id IN ({marks})",
                some,
            ):
                entry = row_to_entry(row, origins.get(row["id"], {}))
                found[entry.id] = StoredEntry(
                    number=row["number"], version=row["version"], entry=entry
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

    def read_struck(self) -> frozenset[int]:
        """Return the numbers of the notes that were struck."""
        return frozenset(row["note"] for row in self._rows("SELECT note FROM struck_notes"))

    def _choices(self, value: str, selection: Selection, *, part: str = "") -> tuple[Choice, ...]:
        wanted = _condition(selection)
        joined = f"entries, {part}" if part else "entries"
        rows = self._rows(
            f"SELECT {value} AS value, count(DISTINCT entries.id) AS count FROM {joined} "
            f"WHERE {wanted.sql} AND {value} IS NOT NULL GROUP BY 1 ORDER BY 1",
            wanted.values,
        )
        return tuple(Choice(value=row["value"], count=row["count"]) for row in rows)

    def _rows(self, query: str, values: Sequence[Any] = ()) -> list[dict[str, Any]]:
        with explained(self.folder):
            return list(self._database.query(query, list(values)))


def _condition(selection: Selection, *, include_void: bool = False) -> _Condition:
    parts: list[_Condition] = [_Condition("1")]
    if selection.status:
        parts.append(_Condition("entries.status = ?", [selection.status]))
    elif not include_void:
        parts.append(_Condition("entries.status <> 'void'"))
    if selection.volume:
        parts.append(
            _Condition(
                "accession IS ? AND volume IS ?",
                [selection.volume.accession, selection.volume.volume],
            )
        )
    if selection.leaf is not None:
        parts.append(_Condition("leaf = ?", [selection.leaf]))
    if selection.doubted_field is not None:
        parts.append(_Condition(f"? IN ({_DOUBTED})", [selection.doubted_field]))
    if selection.caution is not None:
        parts.append(
            _Condition("? IN (SELECT value FROM json_each(entries.cautions))", [selection.caution])
        )
    if selection.handler is not None:
        parts.append(_Condition("handler = ?", [selection.handler]))
    if selection.day is not None:
        parts.append(_Condition("substr(recorded_at, 1, 10) = ?", [selection.day]))
    if selection.ids:
        marks = ", ".join("?" * len(selection.ids))
        parts.append(_Condition(f"entries.id IN ({marks})", sorted(selection.ids)))
    return _Condition(
        " AND ".join(part.sql for part in parts),
        [value for part in parts for value in part.values],
    )


def _in_portions(items: Sequence[Any]) -> Iterable[list[Any]]:
    for first in range(0, len(items), _AT_ONCE):
        yield list(items[first : first + _AT_ONCE])
