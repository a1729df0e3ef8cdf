"""Ranks, numbers and counts that are kept by the way agree with a look through the whole log."""

from __future__ import annotations

import sqlite3
from collections import Counter
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlite_utils import Database, Migrations

from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import Doubt, Entry, Kind, Side, Status
from voicelog.domain.note import Note
from voicelog.store.connection import connect_to_write
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME
from voicelog.store.log import Log
from voicelog.store.rows import entry_to_row
from voicelog.store.schema import APPLICATION_ID, steps
from voicelog.store.selection import Order, Selection
from voicelog.store.worklist import WorkListLog
from voicelog.store.writing import Understanding, WritableLog

any_entry = st.builds(
    Entry,
    id=st.sampled_from([f"e-{number}" for number in range(12)]),
    kind=st.sampled_from(Kind),
    accession=st.sampled_from([None, "2031-007", "2031-008"]),
    volume=st.sampled_from([None, "1", "2"]),
    leaf=st.sampled_from([None, "front cover", "1", "2", "7A"]),
    side=st.sampled_from([None, *Side]),
    item=st.none() | st.integers(1, 3),
    status=st.sampled_from(Status),
    doubts=st.lists(
        st.builds(Doubt, message=st.just("?"), field=st.sampled_from([None, "date", "caption"])),
        max_size=3,
    ).map(tuple),
    cautions=st.sampled_from([(), ("mould",), ("mould", "fire")]),
    handler=st.sampled_from([None, "Hazel Wren"]),
)
any_notes = st.lists(st.lists(any_entry, max_size=4, unique_by=lambda one: one.id), max_size=8)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(notes=any_notes)
def test_whatever_changes_the_log_is_in_display_order_and_well_counted(
    notes: list[list[Entry]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Entries come, move, are voided and come back, one note after the other."""
    folder = tmp_path_factory.mktemp("any") / "log"
    with WritableLog.open_to_write(folder, made_by="a test") as log:
        for number, changed in enumerate(notes, start=1):
            note = Note(number=number, uid=f"u-{number}", text="")
            log.add_note(note, Understanding(changed=tuple(changed)))
    check_order(folder, born=list(dict.fromkeys(one.id for note in notes for one in note)))


def check_order(folder: Path, *, born: list[str]) -> None:
    """Hold what is kept by the way against the entries themselves."""
    with WorkListLog.open(folder) as log:
        numbered = list(log.iter_entries(include_void=True))
        entries = {entry.id: entry for _, entry in numbered}
        expected = in_display_order([entries[id_] for id_ in born])
        shown = [one.id for one in expected if one.status is not Status.VOID]
        void = [one.id for one in expected if one.status is Status.VOID]
        assert [entry.id for _, entry in numbered] == [*shown, *void]
        assert [number for number, _ in numbered] == list(range(1, len(born) + 1))
        for number, entry in numbered:
            stored = log.find_entry(entry.id)
            assert stored is not None
            assert stored.number == number
        assert [one.number for one in log.read_entries([*shown, *void])] == [
            number for number, _ in numbered
        ]
        assert log.count_statuses() == Counter(one.status for one in expected)
        assert log.tally_some(Selection()) == log.tally(Selection())
        for doubted in (None, "date", "caption"):
            first = log.place_some(
                Selection(doubted_field=doubted), order=Order.DOUBTFUL_FIRST, first=0, most=100
            )
            assert log.count_some(Selection(doubted_field=doubted), most=100) == len(first)
        kept = [(volume.key.accession, volume.key.volume) for volume in log.volumes()]
        assert sorted(kept, key=str) == sorted(
            {(one.accession, one.volume) for one in expected}, key=str
        )


def test_a_log_of_an_earlier_version_keeps_its_order(tmp_path: Path) -> None:
    """Its ranks, counted through from 0, become those of today."""
    folder = tmp_path / "log"
    (folder / AUDIO_NAME).mkdir(parents=True)
    entries = [
        Entry(id=f"e-{nth}", kind=Kind.ITEM, accession="2031-007", volume=volume, leaf=leaf, item=1)
        for nth, (volume, leaf) in enumerate(
            [("2", "1"), ("1", "9"), ("2", "3"), ("1", "2"), (None, None)]
        )
    ]
    shown = in_display_order(entries)
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as connection:
        database = Database(connection, execute_plugins=False)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        earlier = Migrations("voicelog")
        for step in steps():
            if step.__name__ < "m023":
                earlier()(step)
        earlier.apply(database)
        ranks = {one.id: rank for rank, one in enumerate(shown)}
        for one in entries:
            database.table("entries").insert({**entry_to_row(one), "rank": ranks[one.id]})
    connect_to_write(folder / DATABASE_NAME).close()
    check_order(folder, born=[one.id for one in entries])
    with Log.open(folder) as log:
        assert log.find_kept_reading() is None
