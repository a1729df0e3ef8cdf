"""A log of any size: volumes of 200 entries, each with the typed note behind it.

Its rows are put in all at once; nothing is read. What reading goes on from is kept as if all notes
had been.
"""

from __future__ import annotations

import random
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from itertools import islice
from pathlib import Path

from sqlite_utils import Database, Migrations

from voicelog.domain.bookmark import Bookmark
from voicelog.domain.context import Context
from voicelog.domain.entry import Adhesion, Doubt, Entry, Kind, Side, Status
from voicelog.domain.note import Note, Span
from voicelog.extraction.reader import Reader
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME
from voicelog.store.kept_reading import KeptReading, keep_whole
from voicelog.store.rows import entry_to_row, note_to_row, origins_to_rows
from voicelog.store.schema import APPLICATION_ID, steps
from voicelog.store.writing import WritableLog

MADE_BY = "voicelog benchmark"
FACTS = {
    "reading": {"default_unit": "inch", "default_century": 1900, "day_first": False,
                "first_page": 1}
}  # fmt: skip
ENTRIES_IN_A_VOLUME = 200
VOLUMES_IN_AN_ACCESSION = 10
_ITEMS_ON_A_SIDE = 2
_AT_ONCE = 10_000
_AT = "2031-05-02T15:04:05+01:00"
_TYPES = ("photograph", "postcard", "newspaper clipping", "letter", "ticket", "menu", "programme")
_PLACES = ("weir", "mill", "station", "chapel", "lamp yard", "boathouse", "market", "bridge")
_PEOPLE = ("Ida", "Hazel", "Tom", "Ada", "Josephine", "Bram", "Žofie", "Wilhelmina")
_CONDITIONS = ("yellowed", "foxing", "tear", "faded", "brittle", "water stain")


def accession_of(volume: int) -> str:
    """Return the accession number of a volume, counted from 0."""
    return f"2031-{volume // VOLUMES_IN_AN_ACCESSION:04d}"


def make_entries(count: int) -> Iterator[tuple[Note, Entry]]:
    """Yield notes and the entry that each has made; the same ones every time."""
    chance = random.Random(11)
    for number in range(count):
        volume, within = divmod(number, ENTRIES_IN_A_VOLUME)
        yield _make_one(number + 1, volume, within, chance)


def _make_one(number: int, volume: int, within: int, chance: random.Random) -> tuple[Note, Entry]:
    handler = _PEOPLE[volume % 4]
    day = date(2031, 1, 1) + timedelta(days=volume // 4)
    recorded_at = f"{day}T09:15:00+01:00"
    what, where, who = chance.choice(_TYPES), chance.choice(_PLACES), chance.choice(_PEOPLE)
    condition = chance.choice(_CONDITIONS)
    caption = f"{who} at the {where}, number {number}"
    text = (
        f"volume {volume + 1}, post binding, black paper"
        if within == 0
        else f"a {what}, photo corners, {condition}, caption reads {caption}"
    )
    note = Note(
        number=number, uid=f"note-{number}", text=text, recorded_at=recorded_at, handler=handler
    )
    place = {"accession": accession_of(volume), "volume": str(volume + 1)}
    if within == 0:
        entry = Entry(
            id=f"volume-{volume}", kind=Kind.VOLUME, binding="post binding", support="black paper",
            leaves=50, status=Status.CONFIRMED, recorded_at=recorded_at, handler=handler,
            notes=(number,), **place,
        )  # fmt: skip
        return note, replace(entry, sources={"accession": "context", **_said(note, "binding")})
    side, item = divmod(within - 1, _ITEMS_ON_A_SIDE)
    is_queried = chance.random() < 0.08
    status = Status.CONFIRMED if chance.random() < 0.6 else Status.HEARD
    entry = Entry(
        id=f"entry-{number}",
        kind=Kind.ITEM,
        leaf=str(side // 2 + 1),
        side=Side.VERSO if side % 2 else Side.RECTO,
        item=item + 1,
        item_type=(what,),
        attachment=("photo corners",),
        adhesion=Adhesion.SECURE,
        condition=(condition,),
        caption=caption,
        remark="the ends of the tape are gone" if chance.random() < 0.05 else None,
        cautions=("mould",) if chance.random() < 0.001 else (),
        status=Status.QUERIED if is_queried else status,
        confidence=0.6 if is_queried else 1.0,
        doubts=(Doubt(message="heard unclearly", field=chance.choice(("date", "caption"))),)
        * is_queried,
        recorded_at=recorded_at,
        handler=handler,
        notes=(number,),
        **place,
    )
    said = _said(note, "item_type", "caption")
    return note, replace(entry, sources={"accession": "context", "leaf": "context", **said})


def _said(note: Note, *fields: str) -> dict[str, tuple[Span, ...]]:
    return {name: (Span(note=note.number, text=note.text[:9], first=0, last=9),) for name in fields}


def make_large_log(folder: Path, count: int, reader: Reader) -> float:
    """Make the log of a number of entries; return the seconds that bringing it up to date took.

    Its rows are put in as an earlier version had them, and today's tables, counts and indexes
    come with the upgrade.
    """
    folder.mkdir()
    (folder / AUDIO_NAME).mkdir()
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as connection:
        database = Database(connection, execute_plugins=False)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute("PRAGMA journal_mode = WAL")
        database.execute("PRAGMA synchronous = OFF")
        earlier = Migrations("voicelog")
        for step in steps():
            if step.__name__ < "m023":
                earlier()(step)
        earlier.apply(database)
        made = make_entries(count)
        while some := list(islice(made, _AT_ONCE)):
            first = some[0][0].number - 1
            rows = [
                ("notes", [note_to_row(note, taken_at=_AT) for note, _ in some]),
                (
                    "entries",
                    [
                        {**entry_to_row(entry), "rank": rank, "version": 1}
                        for rank, (_, entry) in enumerate(some, start=first)
                    ],
                ),
                ("field_values", [row for _, entry in some for row in origins_to_rows(entry)]),
            ]
            with database.atomic():
                for table, its_rows in rows:
                    _insert(connection, table, its_rows)
    began_s = time.perf_counter()
    with WritableLog.open_to_write(folder, made_by=MADE_BY, facts=FACTS) as log:
        took_s = time.perf_counter() - began_s
        last = (count - 1) // ENTRIES_IN_A_VOLUME
        context = Context(
            accession=accession_of(last), volume=f"volume-{last}", leaf="50", side=Side.VERSO
        )
        way = reader.digest(up_to=count)
        bookmark = Bookmark(context=context, frames=())
        with log._transaction():
            kept = KeptReading(note=count, act=0, way=way, bookmark=bookmark)
            keep_whole(log._database, kept)
    return took_s


def _insert(connection: sqlite3.Connection, table: str, rows: list[dict[str, object]]) -> None:
    names, marks = ", ".join(rows[0]), ", ".join("?" * len(rows[0]))
    connection.executemany(
        f"INSERT INTO {table} ({names}) VALUES ({marks})",  # noqa: S608 - our own names
        [list(row.values()) for row in rows],
    )
