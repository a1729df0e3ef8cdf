"""The entries of a log with their versions, and what reviewers did to them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from voicelog.domain.act import Act, Seen
from voicelog.domain.entry import Entry, Status
from voicelog.store.act_rows import row_to_act
from voicelog.store.failures import explained
from voicelog.store.rows import parse_origin, row_to_entry

# Void entries are numbered after the others, so that a number means the same entry
# whether or not void ones are shown.
NUMBERED = """
    SELECT *, row_number() OVER (ORDER BY status = 'void', rank) AS number
    FROM entries
"""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class ActChange:
    """One entry that an act changed, as the log keeps it for taking the act back.

    Attributes:
        entry: the entry's id.
        version: the version that the act left.
        before: what changed, as it was; for :func:`voicelog.store.act_rows.put_back`. None
            where the act made the entry.
    """

    entry: str
    version: int
    before: str | None


class ReviewedLog:
    """The part of a log that acts of review look at; use :class:`voicelog.store.log.Log`."""

    def __init__(self, folder: Path, database: Database) -> None:
        self.folder = folder
        self._database = database

    def iter_stored(self, *, include_void: bool = False) -> Iterator[StoredEntry]:
        """Yield every entry with its number and version, in display order, void ones last."""
        wanted = "" if include_void else "WHERE status <> 'void'"
        with explained(self.folder):
            for row in self._database.query(
                f"SELECT * FROM ({NUMBERED}) {wanted} ORDER BY number"  # noqa: S608 - constants
            ):
                yield self._row_to_stored(row)

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
            before = self._number_of(row["rank"], is_void=row["status"] == Status.VOID)
            return self._row_to_stored({**row, "number": before + 1})

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

    def last_author(self, id_: str) -> str | None:
        """Return who changed an entry last, or None where nobody has."""
        with explained(self.folder):
            row = self._database.execute(
                'SELECT "by" FROM revisions WHERE entry = ? ORDER BY id DESC LIMIT 1', [id_]
            ).fetchone()
            return None if row is None else str(row[0])

    def find_last_act(self, session: str) -> int | None:
        """Return the number of the last act of a session that can still be taken back."""
        with explained(self.folder):
            row = self._database.execute(
                "SELECT max(number) FROM acts WHERE session = ? AND kind <> 'undo' "
                "AND number NOT IN (SELECT undoes FROM acts WHERE undoes IS NOT NULL)",
                [session],
            ).fetchone()
            return None if row[0] is None else int(row[0])

    def is_as_left(self, change: ActChange, *, act: int) -> bool:
        """Whether an entry is as an act left it: whatever came later was taken back."""
        with explained(self.folder):
            row = self._database.execute(
                "SELECT entries.version - ? - (SELECT count(*) FROM decisions JOIN acts "
                "ON acts.number = decisions.act WHERE decisions.entry = entries.id "
                "AND acts.number > ? AND (acts.undoes IS NOT NULL OR acts.number IN "
                "(SELECT undoes FROM acts WHERE undoes IS NOT NULL))) "
                "FROM entries WHERE id = ?",
                [change.version, act, change.entry],
            ).fetchone()
            return row is not None and row[0] == 0

    def iter_changes(self, act: int) -> Iterator[ActChange]:
        """Yield what an act changed, entry by entry, in the order in which it did."""
        with explained(self.folder):
            for row in self._database.query(
                "SELECT entry, before, version, made IS NOT NULL AS is_made FROM decisions "
                "WHERE act = ? ORDER BY rank",
                [act],
            ):
                yield ActChange(
                    entry=row["entry"],
                    version=row["version"],
                    before=None if row["is_made"] else row["before"],
                )

    def iter_acts(self) -> Iterator[Act]:
        """Yield all acts of review in the order in which they were done."""
        with explained(self.folder):
            decisions = groupby(
                self._database.query("SELECT * FROM decisions ORDER BY act, rank"),
                key=itemgetter("act"),
            )
            acting, its_decisions = next(decisions, (None, iter(())))
            for row in self._database.query("SELECT * FROM acts ORDER BY number"):
                is_its = acting == row["number"]
                yield row_to_act(row, its_decisions if is_its else ())
                if is_its:
                    acting, its_decisions = next(decisions, (None, iter(())))

    def count_entries(self) -> int:
        """Return how many entries the log holds, void ones left out."""
        return self._number("SELECT count(*) FROM entries WHERE status <> 'void'")

    def _row_to_stored(self, row: Mapping[str, Any]) -> StoredEntry:
        origins = self._database.execute(
            "SELECT field, origin FROM field_values WHERE entry = ?", [row["id"]]
        )
        sources = {field: parse_origin(text) for field, text in origins}
        return StoredEntry(
            number=row["number"], version=row["version"], entry=row_to_entry(row, sources)
        )

    def _number_of(self, rank: int, *, is_void: bool) -> int:
        """Return how many entries are shown before the one of this rank."""
        if not is_void:
            return self._number(
                "SELECT count(*) FROM entries WHERE rank < ? AND status <> 'void'", [rank]
            )
        return self.count_entries() + self._number(
            "SELECT count(*) FROM entries WHERE rank < ? AND status = 'void'", [rank]
        )

    def _number(self, query: str, values: Sequence[Any] = ()) -> int:
        with explained(self.folder):
            return int(self._database.execute(query, list(values)).fetchone()[0])
