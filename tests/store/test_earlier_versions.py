"""Logs of every earlier version are read, reviewed and written today, and lose nothing by it.

Each log in ``earlier/`` was made by the code of its own time; see ``earlier/make_logs.py``. The
records beside it are what that code gave.
"""

from __future__ import annotations

import gzip
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlite_utils import Database

from tests.session.bringing_in.benches import Bench
from tests.store.earlier.begin_log import SOUND
from tests.store.earlier.make_logs import VERSIONS
from voicelog.domain.entry import format_entry_record
from voicelog.errors import StoreError
from voicelog.store.backup import back_up
from voicelog.store.connection import connect_to_write
from voicelog.store.guest import open_guest
from voicelog.store.log import Log
from voicelog.store.salvage.rebuilding import rebuild
from voicelog.store.schema import make_migrations, steps
from voicelog.store.soundness import find_log_damage
from voicelog.store.word_index import make_word_index

HERE = Path(__file__).parent / "earlier"
NAMES = [name for name, _ in VERSIONS]


@pytest.fixture(params=NAMES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def folder(name: str, tmp_path: Path) -> Path:
    """Put the log back as it was then."""
    folder = tmp_path / "log"
    (folder / "audio").mkdir(parents=True, mode=0o700)
    (folder / "audio" / "morning.wav").write_bytes(SOUND)
    with closing(sqlite3.connect(folder / "log.sqlite")) as database:
        database.executescript(gzip.decompress((HERE / f"{name}.sql.gz").read_bytes()).decode())
    folder.chmod(0o700)
    return folder


def records(name: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (HERE / f"{name}.jsonl").read_text().splitlines()]


def rows(folder: Path, table: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(folder / "log.sqlite")) as database:
        return database.execute(f"SELECT * FROM {table}").fetchall()  # noqa: S608


def upgrade(folder: Path) -> None:
    connect_to_write(folder / "log.sqlite").close()


def test_there_is_a_log_of_every_number_of_steps_that_was_released() -> None:
    """Whoever adds a step makes a log with the code before it, or with it."""
    there = {int(name[:2]) for name in NAMES}
    assert max(there) in {len(steps()), len(steps()) - 1}


def test_its_tables_become_todays(folder: Path) -> None:
    """The same tables with the same columns, and the same guards, as in a log begun today."""
    upgrade(folder)
    with (
        closing(Database(folder / "log.sqlite")) as old,
        closing(Database(memory=True)) as new,
    ):
        make_migrations().apply(new)
        make_word_index(new)
        assert shape(old) == shape(new)
    assert list(find_log_damage(folder)) == []


def shape(database: Database) -> dict[str, object]:
    shapes: dict[str, object] = {}
    for kind, name, sql in database.execute("SELECT type, name, sql FROM sqlite_master"):
        if kind == "table":
            info = database.execute(f'PRAGMA table_info("{name}")')
            shapes[name] = sorted((row[1], row[2], row[3], row[5]) for row in info)
        else:
            shapes[name] = " ".join((sql or "").split())
    return shapes


def test_every_value_is_what_it_was_then(name: str, folder: Path) -> None:
    """Before anything is read again: the upgrade changes tables, never values."""
    upgrade(folder)
    with Log.open(folder) as log:
        now = [
            json.loads(json.dumps(format_entry_record(entry, number=number)))
            for number, entry in log.iter_entries(include_void=True)
        ]
    assert [
        {key: one[key] for key in then} for one, then in zip(now, records(name), strict=True)
    ] == (records(name))


def test_its_notes_and_acts_are_untouched(folder: Path) -> None:
    notes = [row[:12] for row in rows(folder, "notes")]
    history = [row[:8] for row in rows(folder, "revisions")]
    upgrade(folder)
    assert [row[:12] for row in rows(folder, "notes")] == notes
    assert [row[:8] for row in rows(folder, "revisions")] == history


def test_work_goes_on_in_it(name: str, folder: Path) -> None:
    """Ids, confirmed entries and decided values outlive today's reading; new notes follow."""
    bench = Bench(folder)
    bench.say("turn over", "a poster")
    then = {one["id"]: one for one in records(name)}
    now = {entry.id: entry for entry in bench.entries(include_void=True)}
    assert then.keys() <= now.keys()
    for id_, one in then.items():
        if one["status"] in {"confirmed", "void"}:
            assert str(now[id_].status) == one["status"]
            assert now[id_].caption == one["caption"]
        if one["mark"]:
            assert now[id_].mark == one["mark"]
    assert "5 verso 1 poster" in bench.items()
    assert list(find_log_damage(folder)) == []


def test_it_is_not_read_before_somebody_writes_to_it(folder: Path) -> None:
    """Reading changes nothing, so it can't bring the tables up to date."""
    try:
        Log.open(folder).close()
    except StoreError as refused:
        assert "made by an earlier voicelog" in str(refused)  # noqa: PT017 - today's own may open


def test_it_is_backed_up_as_it_is(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "copy").mkdir()
    made = back_up(folder, tmp_path / "copy")
    assert (made.notes, made.recordings, made.damage) == (13, 1, ())
    assert rows(tmp_path / "copy", "notes") == rows(folder, "notes")


def test_it_is_taken_from_a_bag(folder: Path, tmp_path: Path) -> None:
    """Its tables are known letter by letter, in whatever order their columns came."""
    (tmp_path / "scratch").mkdir()
    with open_guest(folder / "log.sqlite", tmp_path / "scratch") as log:
        assert log.count_notes() == 13


def test_it_is_salvaged(folder: Path, tmp_path: Path) -> None:
    """Into today's tables, without upgrading a damaged file."""
    losses = rebuild(folder / "log.sqlite", tmp_path / "new")
    assert (losses.notes, losses.acts, losses.rows) == ((), (), 0)
    with Log.open(tmp_path / "new") as salvaged:
        notes = [note.text for note in salvaged.iter_notes()]
        entries = [entry.id for _, entry in salvaged.iter_entries(include_void=True)]
    upgrade(folder)
    with Log.open(folder) as log:
        assert [note.text for note in log.iter_notes()] == notes
        assert [entry.id for _, entry in log.iter_entries(include_void=True)] == entries
