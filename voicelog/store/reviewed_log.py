"""The entries of a log with their versions, and what reviewers did to them."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from types import MappingProxyType
from typing import Any

from sqlite_utils import Database

from voicelog.domain.act import Act, Seen
from voicelog.domain.entry import Entry, Status
from voicelog.domain.error_rate import ErrorRate
from voicelog.domain.lesson import Example, Lesson
from voicelog.domain.redaction import RedactedStretch, Redaction
from voicelog.store.act_rows import row_to_act
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


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLine:
    """One value of an entry that changed.

    Attributes:
        number: grows with every change in the log.
        entry: the entry's id.
        field: the field.
        before: the value as it was, as JSON holds it.
        after: the value as it became.
        by: who: a person, or this program and its version.
        at: when, ISO 8601 with zone.
        reason: why: the kind of the act, a note, a reading.
        act: the number of the act of review, or None.
    """

    number: int
    entry: str
    field: str
    before: Any
    after: Any
    by: str
    at: str
    reason: str
    act: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """A volume signed off by a reviewer, and perhaps unlocked again.

    Attributes:
        act: the number of the act that signed it off.
        accession: the volume's accession number.
        volume: the volume, as its entries name it.
        by: who signed.
        at: when, ISO 8601 with zone.
        unlocked_by: who unlocked it, or None while it holds.
        unlocked_at: when.
        unlocked_why: the reason given.
    """

    act: int
    accession: str | None
    volume: str | None
    by: str
    at: str
    unlocked_by: str | None
    unlocked_at: str | None
    unlocked_why: str | None


class ReviewedLog:
    """The part of a log that acts of review look at; use :class:`voicelog.store.log.Log`."""

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

    def iter_history(self, *, entry: str | None = None) -> Iterator[HistoryLine]:
        """Yield every change of a value, the latest first.

        Args:
            entry: the entry whose history is asked for; None for the whole log.
        """
        with explained(self.folder):
            wanted = "" if entry is None else "WHERE entry = ?"
            for row in self._database.query(
                f"SELECT * FROM revisions {wanted} ORDER BY id DESC",  # noqa: S608 - constants
                [] if entry is None else [entry],
            ):
                yield HistoryLine(
                    number=row["id"],
                    entry=row["entry"],
                    field=row["field"],
                    before=json.loads(row["before"]),
                    after=json.loads(row["after"]),
                    by=row["by"],
                    at=row["at"],
                    reason=row["reason"],
                    act=row["act"],
                )

    def find_signature(self, accession: str | None, volume: str | None) -> Signature | None:
        """Return the sign-off that holds for a volume, or None where it is open."""
        with explained(self.folder):
            row = next(
                iter(
                    self._database.query(
                        "SELECT * FROM signatures WHERE accession IS ? AND volume IS ? "
                        "AND unlocked_by IS NULL",
                        [accession, volume],
                    )
                ),
                None,
            )
            return None if row is None else Signature(**row)

    def iter_signatures(self) -> Iterator[Signature]:
        """Yield every sign-off, those that were unlocked again too, in their order."""
        with explained(self.folder):
            for row in self._database.query("SELECT * FROM signatures ORDER BY act"):
                yield Signature(**row)

    def ever_sampled(self) -> frozenset[str]:
        """Return the ids of all entries that a blind sample has held."""
        with explained(self.folder):
            return frozenset(
                row[0] for row in self._database.execute("SELECT entry FROM sampled_entries")
            )

    def waiting_in_sample(self, among: Collection[str] | None = None) -> frozenset[str]:
        """Return the ids of the sampled entries that were not judged yet, void ones left out.

        Args:
            among: the ids that are asked about; None for all.
        """
        these = "" if among is None else "AND entry IN (SELECT value FROM json_each(?))"
        with explained(self.folder):
            rows = self._database.execute(
                "SELECT entry FROM sampled_entries JOIN entries ON entries.id = entry "  # noqa: S608
                f"WHERE verdict IS NULL AND status NOT IN ('void', 'confirmed') {these}",
                [] if among is None else [format_json(sorted(among))],
            )
            return frozenset(row[0] for row in rows)

    def count_samples(self) -> int:
        """Return how many blind samples were drawn."""
        return self._number("SELECT count(*) FROM samples")

    def error_rate(self) -> ErrorRate:
        """Return what the blind samples have shown so far."""
        with explained(self.folder):
            judged = dict(
                self._database.execute(
                    "SELECT verdict, count(*) FROM sampled_entries WHERE verdict IS NOT NULL "
                    "GROUP BY verdict"
                )
            )
            fields = dict(
                self._database.execute(
                    "SELECT value, count(*) FROM sampled_entries, json_each(fields) "
                    "GROUP BY value ORDER BY count(*) DESC, value"
                )
            )
        return ErrorRate(
            judged=sum(judged.values()),
            wrong=judged.get("wrong", 0),
            waiting=len(self.waiting_in_sample()),
            fields=MappingProxyType(fields),
        )

    def iter_lessons(self) -> Iterator[Lesson]:
        """Yield every lesson, those taken back too, in the order in which they were learnt."""
        with explained(self.folder):
            for row in self._database.query(
                'SELECT lessons.*, acts."by", acts.at FROM lessons '
                "JOIN acts ON acts.number = lessons.learnt_in ORDER BY lessons.number"
            ):
                yield Lesson(
                    number=row["number"],
                    heard=row["heard"],
                    meant=row["meant"],
                    field=row["field"],
                    examples=tuple(Example(**one) for one in json.loads(row["examples"])),
                    from_note=row["from_note"],
                    until_note=row["until_note"],
                    by=row["by"],
                    at=row["at"],
                )

    def iter_redactions(self) -> Iterator[Redaction]:
        """Yield every redaction on record, in the order in which they were ordered."""
        with explained(self.folder):
            for row in self._database.query("SELECT * FROM redactions ORDER BY number"):
                yield Redaction(
                    number=row["number"],
                    stretch=RedactedStretch(note=row["note"], first=row["first"], last=row["last"]),
                    start_s=row["start_s"],
                    end_s=row["end_s"],
                    by=row["by"],
                    at=row["at"],
                    reason=row["reason"],
                    is_done=row["done_in"] is not None,
                )

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
        """Return the number of the last act of a session that can still be taken back.

        Sign-offs are unlocked instead, lessons taken back are taught again, and what was
        redacted is gone.
        """
        with explained(self.folder):
            row = self._database.execute(
                "SELECT max(number) FROM acts WHERE session = ? AND kind NOT IN "
                "('undo', 'sign off', 'unlock', 'draw a sample', 'forget', 'redact') "
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

    def iter_acts(self, *, behind_note: int = 0) -> Iterator[Act]:
        """Yield the acts of review in the order in which they were done.

        Args:
            behind_note: the note; those that came before it or right before it are left out.
        """
        with explained(self.folder):
            first = self._number(
                "SELECT coalesce(min(number), 0) FROM acts WHERE after_note >= ?", [behind_note]
            )
            decisions = groupby(
                self._database.query(
                    "SELECT * FROM decisions WHERE act >= ? ORDER BY act, rank", [first]
                ),
                key=itemgetter("act"),
            )
            acting, its_decisions = next(decisions, (None, iter(())))
            for row in self._database.query(
                "SELECT * FROM acts WHERE number >= ? AND after_note >= ? ORDER BY number",
                [first, behind_note],
            ):
                is_its = acting == row["number"]
                yield row_to_act(row, its_decisions if is_its else ())
                if is_its:
                    acting, its_decisions = next(decisions, (None, iter(())))

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
