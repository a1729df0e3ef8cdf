"""Entries as they were heard, held against what a careful reader makes of the notes.

Rows and entries are paired by the note that opens them. A field is wrong where its value is
not exactly the expected one; in texts, capitals, punctuation and the spelling of numbers and
of British and American words don't count, since nobody can hear them. A wrong accession,
volume, leaf or side is carried on from row to row and put right by one correction: it counts
where it first appears (``wrong``), and everywhere in ``strictly_wrong``.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from num2words import num2words  # type: ignore[import-untyped]

from tests.benchmarks.hearing.cache import Cell, HearingCache
from tests.gold.score import FIELDS, WORDED, Row, pair, rows_of
from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.vocabulary.inflection import in_british

GOLD = Path(__file__).parents[2] / "gold"
_CARRIED = ("accession", "volume", "volume_name", "leaf", "side")
_CLIP = re.compile(r"(?P<session>.+)-(?P<number>\d{3})")


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One entry and what is wrong with it.

    Attributes:
        entry: the entry.
        where: set, voice, engine, session.
        wrong: its wrong fields, carried ones only where the mistake first appears; "kind" of
            an entry that nobody said.
        strictly_wrong: all its wrong fields.
        must_be_queried: whether the reading rules ask for a doubt.
    """

    entry: Entry
    where: str
    wrong: frozenset[str]
    strictly_wrong: frozenset[str]
    must_be_queried: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A gold session as it was heard.

    Attributes:
        name: its name.
        where: set, voice, engine and name.
        voice: who said it; "typed" where nobody did.
        notes: what was heard.
        rows: what is expected, each with the number of the note that opens it.
    """

    name: str
    where: str
    voice: str
    notes: tuple[Note, ...]
    rows: tuple[tuple[int, Row], ...]


def read_expected(path: Path) -> tuple[tuple[tuple[int, Row], ...], tuple[str, ...]]:
    """Return the rows of a gold file, each with its opening note's number, and the notes."""
    rows: list[tuple[int, Row]] = []
    notes: list[str] = []
    lenient: frozenset[str] = frozenset()
    for line in path.read_text("utf-8").splitlines():
        if line.startswith("> "):
            notes.append(line[2:])
        elif line.startswith("# lenient:"):
            lenient = frozenset(part.strip() for part in line[10:].split(","))
        elif line.startswith("= "):
            rows.append((len(notes), Row(json.loads(line[2:]), lenient)))
            lenient = frozenset()
    return tuple(rows), tuple(notes)


def typed_sessions(set_name: str) -> Iterator[Session]:
    """Yield the gold sessions as they were typed."""
    for path in sorted((GOLD / set_name).glob("*.gold")):
        rows, texts = read_expected(path)
        notes = tuple(
            Note(number=number, uid=f"note-{number}", text=text)
            for number, text in enumerate(texts, start=1)
        )
        where = f"{set_name} typed {path.stem}"
        yield Session(name=path.stem, where=where, voice="typed", notes=notes, rows=rows)


def heard_sessions(cache: HearingCache, cell: Cell) -> Iterator[Session]:
    """Yield the gold sessions of which every note was heard in a cell."""
    by_session: dict[str, dict[int, Note]] = {}
    for clip, heard in cache.heard(cell).items():
        found = _CLIP.fullmatch(clip)
        if found:
            number = int(found["number"])
            by_session.setdefault(found["session"], {})[number] = heard.as_note(number)
    for name, notes in sorted(by_session.items()):
        rows, texts = read_expected(GOLD / cell.set_name / f"{name}.gold")
        if len(notes) == len(texts):
            yield Session(
                name=name,
                where=f"{cell.set_name} {cell.voice} {cell.engine} {name}",
                voice=cell.voice,
                notes=tuple(notes[number] for number in sorted(notes)),
                rows=rows,
            )


def judge(session: Session, reader: Reader) -> tuple[tuple[Judged, ...], int]:
    """Return the entries that a session gives, judged, and how many rows were missed."""
    logbook = Logbook(reader)
    for note in session.notes:
        logbook.take(note)
    entries = logbook.entries()
    judged: list[Judged] = []
    missed = 0
    carried: dict[str, Any] = {}
    for entry, want, got in _pair(session, entries):
        if entry is None or got is None:
            missed += 1
            continue
        if want is None:
            strictly = wrong = frozenset({"kind"})
        else:
            strictly = _wrong_fields(want, got)
            differing = {
                name: (want.values.get(name), got.values.get(name))
                for name in _CARRIED
                if name in strictly
            }
            wrong = frozenset(
                name for name in strictly if carried.get(name, ()) != differing.get(name)
            )
            carried = differing
        judged.append(
            Judged(
                entry=entry,
                where=session.where,
                wrong=wrong,
                strictly_wrong=strictly,
                must_be_queried=want is not None and bool(want.values.get("queried")),
            )
        )
    return tuple(judged), missed


def _pair(
    session: Session, entries: Sequence[Entry]
) -> Iterator[tuple[Entry | None, Row | None, Row | None]]:
    rows = rows_of(entries)
    entry_of = {id(row): entry for row, entry in zip(rows, entries, strict=True)}
    opened: dict[int, list[Row]] = {}
    for row, entry in zip(rows, entries, strict=True):
        opened.setdefault(entry.notes[0], []).append(row)
    expected: dict[int, list[Row]] = {}
    for number, row in session.rows:
        expected.setdefault(number, []).append(row)
    for number in sorted(opened.keys() | expected.keys()):
        for want, got in pair(expected.get(number, []), opened.get(number, [])):
            yield entry_of.get(id(got)), want, got


def _wrong_fields(want: Row, got: Row) -> frozenset[str]:
    return frozenset(
        name
        for name in FIELDS
        if name != "queried"
        and name not in want.lenient
        and _values(want, name) != _values(got, name)
    )


def _values(row: Row, name: str) -> Mapping[str, int]:
    plain = _as_heard if name in WORDED else str
    return Counter(plain(value) for field, value in row.slots() if field == name)


@cache
def _as_heard(text: str) -> str:
    """Return a text as it sounds: numbers in words, one spelling.

    >>> _as_heard("At Number 9, the Harbor")
    'at number nine the harbour'
    """
    words = re.findall(r"[^\W\d_]+|\d+", text.lower())
    spoken = " ".join(_say(word) for word in words)
    return " ".join(in_british(word) for word in re.findall(r"[a-z]+", spoken))


def _say(word: str) -> str:
    if not word.isdigit():
        return word
    number = int(word)
    return str(num2words(number, to="year" if 1000 < number < 2100 else "cardinal"))
