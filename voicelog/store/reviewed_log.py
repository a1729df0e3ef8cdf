"""What reviewers did to the entries of a log."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from types import MappingProxyType
from typing import Any

from voicelog.domain.act import Act
from voicelog.domain.error_rate import ErrorRate
from voicelog.domain.lesson import Example, Lesson
from voicelog.domain.redaction import RedactedStretch, Redaction
from voicelog.store.act_rows import row_to_act
from voicelog.store.entry_log import EntryLog
from voicelog.store.failures import explained
from voicelog.store.rows import format_json


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


class ReviewedLog(EntryLog):
    """The part of a log that acts of review look at; use :class:`voicelog.store.log.Log`."""

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
