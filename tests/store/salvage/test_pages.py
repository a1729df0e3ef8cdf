"""Rows are read from pages as SQLite reads them, and what is damaged is told from what is not.

Reference: SQLite itself, which wrote the files and is asked for the same rows.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.store.salvage.page_file import PageFile
from voicelog.store.salvage.tables import Found, Table, describe_tables, read_tables

MAKE = """
    CREATE TABLE notes (
        number INTEGER PRIMARY KEY, text TEXT NOT NULL, start_s REAL, count INTEGER
    ) STRICT;
    CREATE INDEX notes_by_count ON notes (count);
    CREATE TABLE words (
        rank INTEGER NOT NULL, note INTEGER NOT NULL, text TEXT NOT NULL, sure REAL,
        PRIMARY KEY (note, rank)
    ) STRICT, WITHOUT ROWID;
"""
ANY_TEXT = st.text(st.characters(blacklist_categories=["Cs"]), max_size=40)
LONG_TEXT = st.builds(lambda text, times: text * times, ANY_TEXT, st.integers(0, 400))
NUMBERS = st.integers(-(2**63), 2**63 - 1)
REALS = st.none() | st.floats(allow_nan=False)


def make(path: Path, notes: list[tuple[object, ...]], words: list[tuple[object, ...]]) -> None:
    with closing(sqlite3.connect(path)) as database:
        database.executescript(MAKE)
        database.executemany("INSERT OR IGNORE INTO notes VALUES (?, ?, ?, ?)", notes)
        database.executemany("INSERT OR IGNORE INTO words VALUES (?, ?, ?, ?)", words)
        database.commit()


def tables(path: Path) -> tuple[Table, ...]:
    with closing(sqlite3.connect(path)) as database:
        return describe_tables(database)


def by_sqlite(path: Path, table: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as database:
        return database.execute(f"SELECT * FROM {table}").fetchall()  # noqa: S608


def by_us(path: Path, wanted: tuple[Table, ...]) -> Found:
    with PageFile(path) as file:
        return read_tables(file, wanted)


def rows(found: Found, table: str, *columns: str) -> list[tuple[object, ...]]:
    return sorted(tuple(row[name] for name in columns) for row in found.rows[table])


@settings(max_examples=40, deadline=None)
@given(
    notes=st.lists(st.tuples(NUMBERS, LONG_TEXT, REALS, st.none() | NUMBERS), max_size=40),
    words=st.lists(st.tuples(st.integers(0, 99), NUMBERS, LONG_TEXT, REALS), max_size=40),
)
def test_a_whole_file_gives_the_rows_that_sqlite_gives(
    tmp_path_factory: pytest.TempPathFactory,
    notes: list[tuple[object, ...]],
    words: list[tuple[object, ...]],
) -> None:
    """Whatever numbers and texts, also those that go on over further pages."""
    path = tmp_path_factory.mktemp("pages") / "log.sqlite"
    make(path, notes, words)
    found = by_us(path, tables(path))
    assert (found.broken_pages, found.broken_rows, found.strays) == (0, 0, 0)
    of_notes = rows(found, "notes", "number", "text", "start_s", "count")
    assert of_notes == sorted(by_sqlite(path, "notes"))
    of_words = rows(found, "words", "rank", "note", "text", "sure")
    assert of_words == sorted(by_sqlite(path, "words"))


def test_what_is_only_in_the_write_ahead_log_counts_once_committed(tmp_path: Path) -> None:
    """As SQLite has it: https://www.sqlite.org/walformat.html."""
    path = tmp_path / "log.sqlite"
    make(path, [(1, "before", None, 1)], [])
    wanted = tables(path)
    database = sqlite3.connect(path, isolation_level=None)
    database.execute("PRAGMA journal_mode = WAL")
    database.execute("PRAGMA cache_size = 2")
    database.execute("INSERT INTO notes VALUES (2, 'committed', 0.5, 2)")
    database.execute("BEGIN")
    for number in range(3, 400):
        database.execute("INSERT INTO notes VALUES (?, ?, NULL, NULL)", [number, "x" * 200])
    assert path.with_name("log.sqlite-wal").stat().st_size > 50_000
    assert rows(by_us(path, wanted), "notes", "number", "text") == [(1, "before"), (2, "committed")]
    database.close()


@pytest.mark.parametrize("page_bytes", [512, 1024, 8192, 65_536])
def test_pages_of_every_size_are_read(tmp_path: Path, page_bytes: int) -> None:
    path = tmp_path / "log.sqlite"
    with closing(sqlite3.connect(path)) as database:
        database.execute(f"PRAGMA page_size = {page_bytes}")
        database.execute("VACUUM")
    make(path, [(number, f"{number} " * 90, None, number) for number in range(300)], [])
    found = by_us(path, tables(path))
    of_notes = rows(found, "notes", "number", "text", "start_s", "count")
    assert of_notes == sorted(by_sqlite(path, "notes"))


def test_leaves_are_found_without_the_page_that_led_to_them(tmp_path: Path) -> None:
    """The first page of a table is gone, and with it the way to every other."""
    path = tmp_path / "log.sqlite"
    notes = [(number, f"leaf {number}, a ticket " * 8, None, number) for number in range(1, 400)]
    words = [(rank, note, f"word {rank}", 0.5) for note in range(1, 100) for rank in range(9)]
    make(path, notes, words)
    wanted = tables(path)
    with closing(sqlite3.connect(path)) as database:
        roots = [
            row[0]
            for row in database.execute(
                "SELECT rootpage FROM sqlite_master WHERE name IN ('notes', 'words')"
            )
        ]
    content = bytearray(path.read_bytes())
    for root in roots:
        content[(root - 1) * 4096 : root * 4096] = b"\xff" * 4096
    path.write_bytes(content)
    found = by_us(path, wanted)
    assert found.broken_pages == 2
    assert len(found.rows["notes"]) == len(notes)
    # A table without row numbers keeps some of its rows on the pages that lead to others.
    assert len(words) - 20 <= len(found.rows["words"]) < len(words)


@settings(max_examples=150, deadline=None)
@given(
    at=st.integers(0, 2**20), junk=st.binary(min_size=1, max_size=5000), cut=st.integers(0, 2**17)
)
def test_no_damage_raises_an_error_or_invents_a_row(
    tmp_path_factory: pytest.TempPathFactory, at: int, junk: bytes, cut: int
) -> None:
    """Junk written anywhere, the file cut anywhere: what comes out are rows of the right kind."""
    path = tmp_path_factory.mktemp("junk") / "log.sqlite"
    make(
        path,
        [(number, f"leaf {number} " * 30, 0.5, number) for number in range(1, 120)],
        [(rank, note, "word", 0.5) for note in range(1, 60) for rank in range(5)],
    )
    wanted = tables(path)
    content = bytearray(path.read_bytes())
    at %= len(content)
    content[at : at + len(junk)] = junk
    path.write_bytes(content[: len(content) - cut % len(content)])
    found = by_us(path, wanted)
    for row in found.rows["notes"]:
        assert isinstance(row["number"], int)
        assert isinstance(row["text"], str)
