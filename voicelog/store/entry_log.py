"""The entries of a log as they stand in it, found by place, mark, word and version."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from voicelog.domain.act import Seen
from voicelog.domain.entry import Entry, Status
from voicelog.store.failures import explained
from voicelog.store.numbering import Numbering
from voicelog.store.rows import format_json, parse_origin, row_to_entry
from voicelog.store.word_index import find_worded


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredEntry:
    """An entry as it stands in the log.

    Attributes:
        number: its display number, from 1.
        version: grows with every change of the entry; an act of review says which it saw.
        entry: the entry.
    """

    number: int
    version: int
    entry: Entry

    @property
    def seen(self) -> Seen:
        """What an act that is based on this says it has seen."""
        return Seen(entry=self.entry.id, version=self.version)


class EntryLog:
    """Reads entries with their versions."""

    def __init__(self, folder: Path, database: Database) -> None:
        self.folder = folder
        self._database = database

    def iter_stored(self, *, include_void: bool = False) -> Iterator[StoredEntry]:
        """Yield every entry with its number and version, in display order, void ones last.

        A void entry is numbered behind the others, so that a number means the same entry whether
        or not void ones are shown.
        """
        number = 0
        with explained(self.folder):
            for which in ("<>", "=") if include_void else ("<>",):
                for row in self._database.query(
                    f"SELECT * FROM entries WHERE status {which} 'void' ORDER BY rank"  # noqa: S608
                ):
                    number += 1
                    yield self._row_to_stored({**row, "number": number})

    def iter_worded(self, words: str, *, include_void: bool = False) -> Iterator[tuple[int, Entry]]:
        """Yield display number and entry of those that have all of some words, in display order.

        Captions, remarks and what was heard are looked through.

        Args:
            words: as a person types them; those in quotation marks stand side by side.
            include_void: whether void entries are wanted.
        """
        with explained(self.folder):
            ids = find_worded(self._database, words)
            numbering = Numbering(self._database)
            wanted = "" if include_void else "AND status <> 'void'"
            for row in self._database.query(
                "SELECT * FROM entries WHERE id IN (SELECT value FROM json_each(?)) "  # noqa: S608
                f"{wanted} ORDER BY status = 'void', rank",
                [format_json(ids)],
            ):
                stored = self._row_to_stored({**row, "number": numbering.number(row)})
                yield stored.number, stored.entry

    def versions(self) -> dict[str, int]:
        """Return the version of every entry, by its id."""
        with explained(self.folder):
            return dict(self._database.execute("SELECT id, version FROM entries"))

    def find_entry(self, id_: str) -> StoredEntry | None:
        """Return one entry by its id, or None."""
        with explained(self.folder):
            rows = self._database.query("SELECT *, 0 AS number FROM entries WHERE id = ?", [id_])
            row = next(iter(rows), None)
            if row is None:
                return None
            return self._row_to_stored({**row, "number": Numbering(self._database).number(row)})

    def find_numbered(self, number: int) -> StoredEntry | None:
        """Return the entry of a display number, or None; void ones are passed over."""
        with explained(self.folder):
            found = self._database.execute(
                "SELECT id FROM entries WHERE status <> 'void' ORDER BY rank LIMIT 1 OFFSET ?",
                [number - 1],
            ).fetchone()
        return None if found is None or number < 1 else self.find_entry(found[0])

    def iter_side(
        self, accession: str | None, volume: str | None, leaf: str | None, side: str | None
    ) -> Iterator[StoredEntry]:
        """Yield the entries of one side of a leaf in their order, void ones left out.

        The display number of each is 0: it isn't looked up.
        """
        with explained(self.folder):
            for row in self._database.query(
                "SELECT *, 0 AS number FROM entries WHERE accession IS ? AND volume IS ? "
                "AND leaf IS ? AND side IS ? AND status <> 'void' ORDER BY rank",
                [accession, volume, leaf, side],
            ):
                yield self._row_to_stored(row)

    def find_volume(self, accession: str | None, volume: str | None) -> StoredEntry | None:
        """Return the entry that describes a volume, or None; its display number is 0."""
        with explained(self.folder):
            rows = self._database.query(
                "SELECT *, 0 AS number FROM entries WHERE kind = 'volume' "
                "AND accession IS ? AND volume IS ? AND status <> 'void' ORDER BY rank LIMIT 1",
                [accession, volume],
            )
            return next((self._row_to_stored(row) for row in rows), None)

    def iter_of_volume(self, accession: str | None, volume: str | None) -> Iterator[StoredEntry]:
        """Yield the entries of a volume in display order, void ones left out.

        The display number of each is 0: it isn't looked up.
        """
        with explained(self.folder):
            for row in self._database.query(
                "SELECT *, 0 AS number FROM entries WHERE accession IS ? AND volume IS ? "
                "AND status <> 'void' ORDER BY rank",
                [accession, volume],
            ):
                yield self._row_to_stored(row)

    def iter_carrying(self, field: str, value: str) -> Iterator[StoredEntry]:
        """Yield the entries that have a value of the place because it was carried over.

        Volumes are among them also where the value was said of the volume itself; their rows
        carry it from there.

        Args:
            field: accession, volume, volume_name, leaf or side.
            value: the value that was carried.
        """
        with explained(self.folder):
            rows = self._database.query(
                "SELECT entries.* FROM entries JOIN field_values "  # noqa: S608 - a column
                "ON field_values.entry = entries.id AND field_values.field = ? "
                f"WHERE entries.{field} = ? AND entries.status <> 'void' "
                "AND (field_values.origin = '\"context\"' OR entries.kind = 'volume') "
                "ORDER BY entries.rank",
                [field, value],
            )
            numbering = Numbering(self._database)
            for row in list(rows):
                yield self._row_to_stored({**row, "number": numbering.number(row)})

    def last_item_number(
        self, accession: str | None, volume: str | None, leaf: str | None, side: str | None
    ) -> int:
        """Return the highest order that an item of a side has; 0 where there is none."""
        return self._number(
            "SELECT coalesce(max(item), 0) FROM entries WHERE accession IS ? AND volume IS ? "
            "AND leaf IS ? AND side IS ? AND kind = 'item' AND status <> 'void'",
            [accession, volume, leaf, side],
        )

    def find_marked(self, mark: str) -> tuple[str, ...]:
        """Return the ids of the entries whose object carries a mark.

        What a person made void may lie there with its mark on it.
        """
        with explained(self.folder):
            rows = self._database.execute(
                "SELECT id FROM entries WHERE mark = ? AND (status <> 'void' OR EXISTS "
                "(SELECT 1 FROM field_values WHERE entry = id AND field = 'status'))",
                [mark],
            )
            return tuple(row[0] for row in rows)

    def iter_related_to(self, id_: str) -> Iterator[StoredEntry]:
        """Yield the entries that name this one in a relation; their display number is 0."""
        with explained(self.folder):
            rows = self._database.query(
                "SELECT *, 0 AS number FROM entries WHERE relations <> '[]' AND EXISTS "
                "(SELECT 1 FROM json_each(relations) WHERE value ->> 'id' = ?)",
                [id_],
            )
            for row in list(rows):
                yield self._row_to_stored(row)

    def showing_caution(
        self, accession: str | None, volume: str | None, caution: str
    ) -> frozenset[str]:
        """Return the ids of the entries of a volume on which a caution is shown."""
        with explained(self.folder):
            rows = self._database.execute(
                "SELECT id FROM entries WHERE accession IS ? AND volume IS ? "
                "AND status <> 'void' AND cautions <> '[]' AND EXISTS "
                "(SELECT 1 FROM json_each(cautions) WHERE value = ?)",
                [accession, volume, caution],
            )
            return frozenset(row[0] for row in rows)

    def count_entries(self) -> int:
        """Return how many entries the log holds, void ones left out."""
        return self._number(
            "SELECT coalesce(sum(heard + queried + confirmed), 0) FROM volume_counts"
        )

    def count_statuses(self) -> Counter[Status]:
        """Return how many entries of each status the log holds."""
        with explained(self.folder):
            row = self._database.execute(
                "SELECT sum(heard), sum(queried), sum(confirmed), sum(void) FROM volume_counts"
            ).fetchone()
        statuses = (Status.HEARD, Status.QUERIED, Status.CONFIRMED, Status.VOID)
        return Counter({status: count or 0 for status, count in zip(statuses, row, strict=True)})

    def _row_to_stored(self, row: Mapping[str, Any]) -> StoredEntry:
        origins = self._database.execute(
            "SELECT field, origin FROM field_values WHERE entry = ?", [row["id"]]
        )
        sources = {field: parse_origin(text) for field, text in origins}
        return StoredEntry(
            number=row["number"], version=row["version"], entry=row_to_entry(row, sources)
        )

    def _number(self, query: str, values: Sequence[Any] = ()) -> int:
        with explained(self.folder):
            return int(self._database.execute(query, list(values)).fetchone()[0])
