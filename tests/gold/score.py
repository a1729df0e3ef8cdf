"""Scoring the reader against the gold sessions: slot precision, recall and F1.

    python -m tests.gold.score [--set tuning|held_back] [--show-misses] [FILE ...]

Every entry is a set of slots (field, value); list fields give one slot per element.
Expected and read entries are paired by place first (kind, accession, volume, leaf, side,
item), then, among what is left, in order by kind and place without the item, then by kind.
A slot counts as correct only if field and value are exactly right: precision is correct over
read, recall correct over expected, F1 = 2PR/(P+R), as the CoNLL-2000 evaluation defines them
(clips.uantwerpen.be/conll2000/chunking/output.html). Captions and remarks are compared
without regard to case, punctuation and spacing. Fields that a row calls lenient don't count.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from voicelog.domain.entry import Entry, format_entry_record
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

HERE = Path(__file__).parent
FIELDS = (
    "kind", "accession", "volume", "volume_name", "leaf", "side", "item", "item_type", "quantity",
    "attachment", "adhesion", "condition", "action", "enclosure", "caption", "date", "dimensions",
    "position", "images", "relations", "blank", "binding", "support", "overlay", "leaves",
    "remark", "queried",
)  # fmt: skip
DEFAULTS: dict[str, Any] = {"quantity": 1, "blank": False, "queried": False}
WORDED = frozenset({"caption", "remark", "volume_name"})


@dataclass(frozen=True)
class Row:
    """One entry as scored: its slots, and the fields that don't count."""

    values: dict[str, Any]
    lenient: frozenset[str] = frozenset()

    def key(self, *names: str) -> tuple[Any, ...]:
        """Return what rows are paired by."""
        return tuple(self.values.get(name) for name in names)

    def slots(self) -> Iterator[tuple[str, str]]:
        """Yield (field, value) for every field that is filled."""
        for name in FIELDS:
            value = self.values.get(name)
            if value in (None, [], DEFAULTS.get(name)):
                continue
            parts = value if isinstance(value, list) and name != "dimensions" else [value]
            for part in parts:
                yield name, _plain(name, part)


@dataclass(frozen=True)
class Session:
    """One gold file: what is said and the rows that are expected."""

    name: str
    notes: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass
class Score:
    """Counts of slots and entries."""

    correct: Counter[str] = field(default_factory=Counter)
    read: Counter[str] = field(default_factory=Counter)
    expected: Counter[str] = field(default_factory=Counter)
    entries: int = 0
    exact: int = 0
    misses: list[str] = field(default_factory=list)

    def add(self, other: Score) -> None:
        """Add another session's counts."""
        self.correct += other.correct
        self.read += other.read
        self.expected += other.expected
        self.entries += other.entries
        self.exact += other.exact
        self.misses += other.misses

    def figures(self, name: str | None = None) -> tuple[float, float, float]:
        """Return precision, recall and F1 of one field, or of all."""
        names = [name] if name else list(FIELDS)
        correct = sum(self.correct[one] for one in names)
        read = sum(self.read[one] for one in names)
        expected = sum(self.expected[one] for one in names)
        return slot_figures(correct=correct, read=read, expected=expected)


def slot_figures(*, correct: int, read: int, expected: int) -> tuple[float, float, float]:
    """Return precision, recall and F1 from slot counts."""
    precision = correct / read if read else 1.0
    recall = correct / expected if expected else 1.0
    total = precision + recall
    return precision, recall, 2 * precision * recall / total if total else 0.0


def read_session(path: Path) -> Session:
    """Return the notes and expected rows of one gold file."""
    notes: list[str] = []
    rows: list[Row] = []
    lenient: frozenset[str] = frozenset()
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("> "):
            notes.append(line[2:])
        elif line.startswith("# lenient:"):
            lenient = frozenset(part.strip() for part in line[10:].split(","))
        elif line.startswith("= "):
            rows.append(Row(json.loads(line[2:]), lenient))
            lenient = frozenset()
    return Session(path.stem, tuple(notes), tuple(rows))


def read_notes(notes: Iterable[str], reader: Reader) -> tuple[Entry, ...]:
    """Return the entries that typed notes give."""
    logbook = Logbook(reader)
    for number, text in enumerate(notes, start=1):
        logbook.take(Note(number=number, uid=f"note-{number}", text=text))
    return logbook.entries()


def rows_of(entries: Sequence[Entry]) -> tuple[Row, ...]:
    """Return entries as rows that can be scored."""
    places = {
        entry.id: f"{entry.leaf or ''}/{entry.side or ''}/{entry.item or ''}" for entry in entries
    }
    rows = []
    for entry in entries:
        values = format_entry_record(entry, number=0)
        values["queried"] = values["status"] == "queried"
        values["relations"] = [
            {"kind": str(one.kind), "to": places.get(one.id, "?")} for one in entry.relations
        ]
        rows.append(Row({name: values[name] for name in FIELDS}))
    return tuple(rows)


def pair(expected: Sequence[Row], read: Sequence[Row]) -> list[tuple[Row | None, Row | None]]:
    """Pair expected and read rows; what has no partner stands alone."""
    pairs: list[tuple[Row | None, Row | None]] = []
    left, right = list(expected), list(read)
    keys = (
        ("kind", "accession", "volume", "leaf", "side", "item"),
        ("kind", "accession", "volume", "leaf", "item_type"),
        ("kind", "accession", "volume", "leaf", "side"),
        ("kind", "leaf", "side", "item"),
        ("kind", "item_type"),
    )
    for names in keys:
        for row in list(left):
            partner = next((one for one in right if one.key(*names) == row.key(*names)), None)
            if partner is not None:
                pairs.append((row, partner))
                left.remove(row)
                right.remove(partner)
    pairs += [(row, None) for row in left]
    pairs += [(None, row) for row in right]
    return pairs


def score(expected: Sequence[Row], read: Sequence[Row], *, name: str = "") -> Score:
    """Return the counts for one session."""
    result = Score(entries=len(expected))
    for want, got in pair(expected, read):
        lenient = want.lenient if want else frozenset()
        wanted = Counter(slot for slot in (want.slots() if want else ()) if slot[0] not in lenient)
        gotten = Counter(slot for slot in (got.slots() if got else ()) if slot[0] not in lenient)
        both = wanted & gotten
        for counter, slots in (
            (result.correct, both),
            (result.read, gotten),
            (result.expected, wanted),
        ):
            for (slot, _), count in slots.items():
                counter[slot] += count
        missing, extra = wanted - gotten, gotten - wanted
        if want is not None and got is not None and not missing and not extra:
            result.exact += 1
        elif missing or extra:
            where = (want or got).key("volume", "leaf", "side", "item", "item_type")  # type: ignore[union-attr]
            result.misses.append(f"{name} {where}: missing {sorted(missing)} extra {sorted(extra)}")
    return result


def _plain(name: str, value: Any) -> str:
    if name in WORDED:
        return re.sub(r"[^a-z0-9]+", " ", str(value).lower()).strip()
    return json.dumps(value, sort_keys=True)


def main(arguments: Sequence[str] | None = None) -> int:
    """Score gold files and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", default="tuning", choices=["tuning", "held_back"])
    parser.add_argument("--show-misses", action="store_true")
    parser.add_argument("files", nargs="*", type=Path)
    given = parser.parse_args(arguments)
    reader = Reader(load_vocabulary(), ReadingOptions())
    total = Score()
    for path in given.files or sorted((HERE / given.set).glob("*.gold")):
        session = read_session(path)
        rows = rows_of(read_notes(session.notes, reader))
        one = score(session.rows, rows, name=session.name)
        total.add(one)
        print(
            f"{session.name:20} notes {len(session.notes):4}  entries {one.entries:4}  "
            f"exact {one.exact / max(1, one.entries):6.1%}  F1 {one.figures()[2]:.4f}"
        )
    print(f"\n{'field':14}{'precision':>10}{'recall':>10}{'F1':>10}{'expected':>10}")
    for name in FIELDS:
        if total.expected[name] or total.read[name]:
            precision, recall, f1 = total.figures(name)
            print(f"{name:14}{precision:10.4f}{recall:10.4f}{f1:10.4f}{total.expected[name]:10}")
    precision, recall, f1 = total.figures()
    print(f"{'all':14}{precision:10.4f}{recall:10.4f}{f1:10.4f}{sum(total.expected.values()):10}")
    print(f"entry exact match {total.exact}/{total.entries} = {total.exact / total.entries:.1%}")
    if given.show_misses:
        print("\n".join(total.misses))
    return 0


if __name__ == "__main__":
    sys.exit(main())
