"""Writing entries and acts of review: every change with its author, all of it or nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from voicelog.domain.act import Act, ActKind
from voicelog.domain.entry import Entry, Status
from voicelog.domain.plain_values import plain_value
from voicelog.domain.shelf import VolumeKey
from voicelog.store.act_rows import Change, act_to_row, change_to_row
from voicelog.store.display_ranks import next_birth, settle_ranks
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.rows import (
    ENTRY_FIELDS,
    entry_to_row,
    format_json,
    origins_to_rows,
    row_to_entry,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Author:
    """Whose change of an entry it is.

    Attributes:
        by: a person, or this program and its version.
        at: when, ISO 8601 with zone.
        reason: why, in a few words.
        act: the number of the act of review, or None.
    """

    by: str
    at: str
    reason: str
    act: int | None = None


class ActRecorder(Log):
    """The part of a writable log that records acts; use :class:`WritableLog`."""

    def record_act(self, act: Act, changes: Sequence[Change]) -> tuple[int, tuple[int, ...]]:
        """Store an act of review together with what it changed: all of it, or nothing.

        Args:
            act: the act; its number and the note it came after are found here.
            changes: the entries it changed, in the order of its decisions.

        Returns:
            the act's number, and the version that each changed entry has now.
        """
        versions: list[int] = []
        with self._transaction():
            row = act_to_row(act, after_note=self.count_notes())
            table = self._database.table("acts")
            number = int(table.insert(row).last_rowid or 0)
            author = Author(by=act.by, at=act.at, reason=str(act.kind), act=number)
            for rank, change in enumerate(changes):
                entry = change.after
                version = self._write_entry(entry, author=author)
                versions.append(version)
                self._database.table("decisions").insert(
                    change_to_row(change, act=number, rank=rank, version=version)
                )
            self._sign(act, number)
            self._sample(act, number)
            self._judge(act, number, changes)
            self._teach(act, number)
            self._settle_order(changes)
        return number, tuple(versions)

    def _sign(self, act: Act, number: int) -> None:
        """Write down that an act signs a volume off, or unlocks it."""
        volume = [act.details.get("accession"), act.details.get("volume")]
        if act.kind is ActKind.SIGN_OFF:
            self._database.execute(
                'INSERT INTO signatures (act, accession, volume, "by", at) VALUES (?, ?, ?, ?, ?)',
                [number, *volume, act.by, act.at],
            )
        elif act.kind is ActKind.UNLOCK:
            self._database.execute(
                "UPDATE signatures SET unlocked_by = ?, unlocked_at = ?, unlocked_why = ? "
                "WHERE accession IS ? AND volume IS ? AND unlocked_by IS NULL",
                [act.by, act.at, act.details.get("why"), *volume],
            )

    def _sample(self, act: Act, number: int) -> None:
        """Write down the sample that an act has drawn."""
        if act.kind is not ActKind.DRAW:
            return
        facts = [act.details[name] for name in ("percent", "seed", "drawn_from")]
        self._database.execute("INSERT INTO samples VALUES (?, ?, ?, ?)", [number, *facts])
        for entry in act.details["entries"]:
            self._database.execute(
                "INSERT INTO sampled_entries (entry, sample) VALUES (?, ?)", [entry, number]
            )

    def _judge(self, act: Act, number: int, changes: Sequence[Change]) -> None:
        """Write down what an act says about entries of a blind sample; the first act counts."""
        if act.undoes is not None:
            self._database.execute(
                "UPDATE sampled_entries SET verdict = NULL, fields = '[]', judged_in = NULL "
                "WHERE judged_in = ?",
                [act.undoes],
            )
            return
        if act.kind is ActKind.BRING_IN:
            # What another bench says is no verdict on how well ours was heard.
            return
        for change in changes:
            wrong = _find_corrected(change)
            is_confirmed = change.after.status is Status.CONFIRMED
            if wrong or is_confirmed:
                self._database.execute(
                    "UPDATE sampled_entries SET verdict = ?, fields = ?, judged_in = ? "
                    "WHERE entry = ? AND verdict IS NULL",
                    ["wrong" if wrong else "right", format_json(wrong), number, change.after.id],
                )

    def _teach(self, act: Act, number: int) -> None:
        """Write down what an act teaches, or that it takes a lesson back."""
        last = self.count_notes()
        if act.kind is ActKind.LEARN:
            facts = [act.details[name] for name in ("heard", "meant", "field")]
            self._database.execute(
                "INSERT INTO lessons (heard, meant, field, examples, from_note, learnt_in) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                [*facts, format_json(act.details["examples"]), last + 1, number],
            )
        elif act.kind is ActKind.FORGET:
            self._database.execute(
                "UPDATE lessons SET until_note = ? WHERE number = ? AND until_note IS NULL",
                [last, act.details["lesson"]],
            )
        elif act.kind is ActKind.UNDO:
            self._database.execute(
                "UPDATE lessons SET until_note = ? WHERE learnt_in = ? AND until_note IS NULL",
                [last, act.undoes],
            )

    def _settle_order(self, changes: Sequence[Change]) -> None:
        """Bring the ranks in line with the places of the entries that changed."""
        settle_ranks(
            self._database,
            [
                _volume(entry)
                for change in changes
                if _is_shown_elsewhere(change)
                for entry in (change.before, change.after)
                if entry is not None
            ],
        )

    @contextmanager
    def all_or_nothing(self) -> Iterator[None]:
        """Make everything that is written inside one transaction.

        Raises:
            StoreError: the log could not be written; nothing was.
        """
        with self._transaction():
            yield

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with explained(self.folder), self._database.atomic():
            yield

    def _write_entry(self, entry: Entry, *, author: Author) -> int:
        """Write an entry and what changed in it; return the version that it has now.

        A new one has no rank yet, and comes into being after all others.
        """
        row = entry_to_row(entry)
        table = self._database.table("entries")
        stored = next(
            iter(self._database.query("SELECT * FROM entries WHERE id = ?", [entry.id])), None
        )
        if stored is None:
            version = 1
            birth = next_birth(self._database)
            table.insert({**row, "rank": 0, "birth": birth, "version": version})
        else:
            before = row_to_entry(stored, {})
            for field in ENTRY_FIELDS:
                old, new = getattr(before, field), getattr(entry, field)
                if old != new:
                    self._revise(entry.id, field, old, new, author=author)
            version = stored["version"] + 1
            table.update(entry.id, {**row, "version": version})
        self._database.execute("DELETE FROM field_values WHERE entry = ?", [entry.id])
        self._database.table("field_values").insert_all(origins_to_rows(entry))
        return version

    def _revise(
        self, entry_id: str, field: str, before: Any, after: Any, *, author: Author
    ) -> None:
        self._database.table("revisions").insert(
            {
                "entry": entry_id,
                "field": field,
                "before": format_json(plain_value(before)),
                "after": format_json(plain_value(after)),
                "by": author.by,
                "at": author.at,
                "reason": author.reason,
                "act": author.act,
            }
        )


# What changes along with other entries or other values says nothing about the reading.
_NOT_READ = frozenset(
    {"item", "mark", "confidence", "doubts", "cautions", "access", "notes", "relations", "kind"}
)


def _find_corrected(change: Change) -> list[str]:
    """Return the fields in which a person found an entry wrong."""
    if change.before is None:
        return []
    if change.after.status is Status.VOID:
        return ["status"]
    return [
        name
        for name in change.decision.values
        if name not in _NOT_READ
        and name != "status"
        and getattr(change.before, name) != getattr(change.after, name)
    ]


def _is_shown_elsewhere(change: Change) -> bool:
    """Whether an entry is new, or is shown in another place than before."""
    before, after = change.before, change.after
    return before is None or any(
        getattr(before, name) != getattr(after, name)
        for name in ("accession", "volume", "leaf", "side", "item")
    )


def _volume(entry: Entry) -> VolumeKey:
    return entry.accession, entry.volume
