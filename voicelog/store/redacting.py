"""Taking words out of a log for good: out of every table, the write-ahead log and free pages."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import Any

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note, locate_words
from voicelog.domain.redaction import MASK, RedactedStretch, mask, mask_stretch
from voicelog.errors import StoreError
from voicelog.store.act_recording import ActRecorder
from voicelog.store.failures import explained
from voicelog.store.kept_reading import forget_kept
from voicelog.store.rows import entry_to_row, format_json, origins_to_rows
from voicelog.store.word_index import renew_word_index

Masker = Callable[[str], str]
"""Covers redacted words wherever they stand in a text."""

# What can't hold words of anybody, and must stay readable for the program.
_CLOSED = frozenset(
    {"id", "kind", "side", "status", "adhesion", "access", "by", "at", "entry", "field", "note"}
)


_LISTS = frozenset({"item_type", "attachment", "condition", "action", "images"})


class Redactor(ActRecorder):
    """The part of a writable log that takes words out; use :class:`WritableLog`."""

    def begin_redaction(
        self,
        stretch: RedactedStretch,
        *,
        sound_s: tuple[float, float] | None,
        by: str,
        at: str,
        reason: str,
    ) -> None:
        """Write down what is about to be taken out; from here on it can be finished."""
        start_s, end_s = sound_s or (None, None)
        with self._transaction():
            self._database.execute(
                'INSERT INTO redactions (note, first, last, start_s, end_s, "by", at, reason) '
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                [stretch.note, stretch.first, stretch.last, start_s, end_s, by, at, reason],
            )

    def note_silenced(self, file: str, *, sha256: str, size_bytes: int) -> None:
        """Write down what a recording came to that was silenced in places."""
        with self._transaction():
            self._database.execute(
                "INSERT OR IGNORE INTO fingerprints_before "
                "SELECT sha256, file FROM recordings WHERE file = ?",
                [file],
            )
            self._database.execute(
                "UPDATE recordings SET sha256 = ?, size_bytes = ? WHERE file = ?",
                [sha256, size_bytes, file],
            )

    def mask_note(self, note: Note, stretches: Iterable[RedactedStretch]) -> str:
        """Cover stretches of a note, in its text and its words, and return the text.

        Other readings of the note go altogether: the words may stand anywhere in them.
        """
        text = note.text
        located = locate_words(note)
        found = {id(word) for _, _, word in located}
        # A word that can't be found in the text can't be known to be another one.
        hidden = {rank for rank, word in enumerate(note.words) if id(word) not in found}
        for stretch in stretches:
            text = mask_stretch(text, stretch.first, stretch.last)
            inside = {
                id(word)
                for first, last, word in located
                if first < stretch.last and last > stretch.first
            }
            hidden |= {rank for rank, word in enumerate(note.words) if id(word) in inside}
        with self._transaction():
            self._database.execute(
                "UPDATE notes SET text = ?, alternatives = '[]' WHERE number = ?",
                [text, note.number],
            )
            for rank in hidden:
                self._database.execute(
                    "UPDATE words SET text = ? WHERE note = ? AND rank = ?",
                    [mask(note.words[rank].text), note.number, rank],
                )
        return text

    def overwrite_entry(self, entry: Entry) -> None:
        """Put an entry in the place of the old one without keeping what it was."""
        row = entry_to_row(entry)
        with self._transaction():
            self._database.table("entries").update(entry.id, row)
            self._database.execute(
                "UPDATE entries SET version = version + 1 WHERE id = ?", [entry.id]
            )
            self._database.execute("DELETE FROM field_values WHERE entry = ?", [entry.id])
            self._database.table("field_values").insert_all(origins_to_rows(entry))

    def mask_history(
        self, entries: Mapping[str, Collection[str]], masker: Masker, *, notes: Mapping[int, str]
    ) -> None:
        """Cover words in everything that the log remembers of some entries, and of acts.

        What people typed is covered wherever it stands: no note holds it any more.

        Args:
            entries: the entries' ids, each with the fields whose values go altogether.
            masker: covers the words.
            notes: the redacted notes' numbers, and their texts as they are now.
        """
        clean = _Cleaner(masker, notes)
        with self._transaction():
            self._mask_revisions(entries, clean)
            self._mask_decisions(entries, clean)
            for id_, cleared in entries.items():
                self._mask_brought(id_, cleared, clean)
            self._mask_acts(clean)
            for row in list(self._database.query("SELECT * FROM acceptances")):
                self._database.execute(
                    "UPDATE acceptances SET message = ?, reason = ? WHERE number = ?",
                    [
                        clean.text(row["message"]),
                        row["reason"] and clean.text(row["reason"]),
                        row["number"],
                    ],
                )
            self._mask_lessons(clean)

    def finish_redactions(self, act: int) -> None:
        """Write down that everything that was begun is done."""
        with self._transaction():
            # What reading goes on from may quote the words.
            forget_kept(self._database)
            renew_word_index(self._database)
            self._database.execute("UPDATE redactions SET done_in = ? WHERE done_in IS NULL", [act])

    def purge(self) -> None:
        """Leave nothing of what was overwritten in the file, its free pages or its side files.

        Raises:
            StoreError: another program has the log open; try again when it is closed.
        """
        with explained(self.folder):
            self._database.execute("PRAGMA temp_store = MEMORY")
            self._database.execute("PRAGMA busy_timeout = 5000")
            self._database.execute("VACUUM")
            busy = self._database.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        if busy:
            raise StoreError(
                f"Another program has the log {self.folder} open, so old pages of it could not be "
                "cleared yet; close it there, then redact once more, or open the log for writing."
            )

    def _mask_revisions(self, entries: Mapping[str, Collection[str]], clean: _Cleaner) -> None:
        for row in list(self._database.query("SELECT * FROM revisions")):
            if row["act"] is None and row["entry"] not in entries:
                continue
            is_gone = row["field"] in entries.get(row["entry"], ())
            before, after = (
                "null" if is_gone else clean.json(row[one]) for one in ("before", "after")
            )
            if (before, after) != (row["before"], row["after"]):
                self._database.execute(
                    "UPDATE revisions SET before = ?, after = ? WHERE id = ?",
                    [before, after, row["id"]],
                )

    def _mask_decisions(self, entries: Mapping[str, Collection[str]], clean: _Cleaner) -> None:
        columns = ("decided", "adds", "made", "before")
        for row in list(self._database.query("SELECT * FROM decisions")):
            before = json.loads(row["before"])
            for name in entries.get(row["entry"], ()):
                if name in before.get("values", {}):
                    before["values"][name] = [] if name in _LISTS else None
                before.get("sources", {}).pop(name, None)
            masked = [
                clean.json(row["decided"]),
                clean.json(row["adds"]),
                None if row["made"] is None else clean.json(row["made"]),
                format_json(clean.value(before)),
            ]
            if masked != [row[one] for one in columns]:
                self._database.execute(
                    "UPDATE decisions SET decided = ?, adds = ?, made = ?, before = ? "
                    "WHERE act = ? AND rank = ?",
                    [*masked, row["act"], row["rank"]],
                )

    def _mask_brought(self, entry: str, cleared: Collection[str], clean: _Cleaner) -> None:
        """Cover words in an entry as another bench has sent it."""
        for log, text in list(
            self._database.execute(
                "SELECT log, content FROM brought_entries WHERE entry = ?", [entry]
            )
        ):
            content = json.loads(text)
            for name in cleared:
                content["values"][name] = [] if name in _LISTS else None
                content["sources"].pop(name, None)
            self._database.execute(
                "UPDATE brought_entries SET content = ? WHERE entry = ? AND log = ?",
                [format_json(clean.value(content)), entry, log],
            )

    def _mask_acts(self, clean: _Cleaner) -> None:
        for number, text in list(self._database.execute("SELECT number, details FROM acts")):
            details = json.loads(text)
            cleaned = clean.value(details)
            if cleaned != details:
                for name in {"heard", "meant"} & details.keys():
                    cleaned[name] = mask(details[name])
                self._database.execute(
                    "UPDATE acts SET details = ? WHERE number = ?", [format_json(cleaned), number]
                )

    def _mask_lessons(self, clean: _Cleaner) -> None:
        """Cover lessons that name the words; what sounds like them gives them away as well."""
        for row in list(self._database.query("SELECT * FROM lessons")):
            texts = (row["heard"], row["meant"])
            if any(clean.text(text) != text for text in texts):
                self._database.execute(
                    "UPDATE lessons SET heard = ?, meant = ?, "
                    "until_note = coalesce(until_note, from_note - 1) WHERE number = ?",
                    [*map(mask, texts), row["number"]],
                )
            self._database.execute(
                "UPDATE lessons SET examples = ? WHERE number = ?",
                [clean.json(row["examples"]), row["number"]],
            )


class _Cleaner:
    """Covers words in whatever JSON the log keeps.

    Args:
        masker: covers the words.
        notes: the redacted notes' numbers, and their texts as they are now.
    """

    def __init__(self, masker: Masker, notes: Mapping[int, str]) -> None:
        self._masker = masker
        self._notes = notes

    def text(self, text: str) -> str:
        """Return a text without the words."""
        return self._masker(text)

    def json(self, text: str) -> str:
        """Return JSON without the words."""
        return format_json(self.value(json.loads(text)))

    def value(self, value: Any) -> Any:
        """Return plain data without the words; spans are cut from their notes anew."""
        match value:
            case str():
                return self._masker(value)
            case list():
                return [self.value(part) for part in value]
            case {"note": int() as note, "first": int() as first, "last": int() as last}:
                text = self._span(note, first, last, value.get("text", ""))
                return {**value, "text": text, **self._other_readings(note, value)}
            case {"note": int() as note, "text": str() as text} if note in self._notes:
                return {**value, "text": self._example(text)}
            case dict():
                return {
                    name: part if name in _CLOSED else self.value(part)
                    for name, part in value.items()
                }
            case _:
                return value

    def _span(self, note: int, first: int, last: int, text: str) -> str:
        return self._notes[note][first:last] if note in self._notes else self._masker(text)

    def _other_readings(self, note: int, span: Mapping[str, Any]) -> dict[str, Any]:
        """Return what else was heard, and how likely the words were, after redaction.

        Of a redacted note neither is left, for the words may stand in any of its readings.
        """
        if note in self._notes:
            return {name: None for name in ("likelihood", "otherwise") if name in span}
        otherwise = span.get("otherwise")
        return {"otherwise": self._masker(otherwise)} if otherwise else {}

    def _example(self, text: str) -> str:
        masked = self._masker(text)
        return masked if MASK in masked else mask(text)


def stretches_by_note(
    stretches: Sequence[RedactedStretch],
) -> dict[int, tuple[RedactedStretch, ...]]:
    """Return stretches by their note's number."""
    notes: dict[int, tuple[RedactedStretch, ...]] = {}
    for stretch in stretches:
        notes[stretch.note] = (*notes.get(stretch.note, ()), stretch)
    return notes
