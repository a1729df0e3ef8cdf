"""Which entries leave the house, and what is said about those that stay."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from tests.exports.logs import make_log
from voicelog.domain.entry import Access, Entry, Kind, Status
from voicelog.exports.selection import Selection, SelectionRules, Tally
from voicelog.store.log import Changes, Log, VolumeKey

TICKET = Entry(id="e-1", kind=Kind.ITEM, accession="2031-007", volume="1", status=Status.CONFIRMED)
ENTRIES = (
    TICKET,
    replace(TICKET, id="e-2", status=Status.HEARD),
    replace(TICKET, id="e-3", status=Status.QUERIED),
    replace(TICKET, id="e-4", access=Access.RESTRICTED),
    replace(TICKET, id="e-5", access=Access.RESTRICTED, status=Status.HEARD),
    replace(TICKET, id="e-6", status=Status.VOID),
)
CHANGES = Changes(
    entries=frozenset({"e-1", "e-6"}),
    volumes=frozenset({VolumeKey(accession="2031-007", volume="1")}),
)


@pytest.mark.parametrize(
    ("rules", "leave", "restricted", "unconfirmed"),
    [
        (SelectionRules(), [1], 2, 2),
        (SelectionRules(include_restricted=True), [1, 4], 0, 3),
        (SelectionRules(include_unconfirmed=True), [1, 2, 3], 2, 0),
        (SelectionRules(include_restricted=True, include_unconfirmed=True), [1, 2, 3, 4, 5], 0, 0),
        (SelectionRules(changes=CHANGES), [1], 0, 0),
        (SelectionRules(changes=CHANGES, whole_volumes=True), [1], 2, 2),
    ],
)
def test_only_confirmed_and_open_entries_leave_unless_asked_for(
    rules: SelectionRules, leave: list[int], restricted: int, unconfirmed: int
) -> None:
    """Void ones never; what stays is counted by the first reason for it."""
    selection = Selection(lambda: enumerate(ENTRIES, start=1), rules)
    for _ in range(2):
        assert [number for number, _ in selection] == leave
        assert selection.tally == Tally(
            selected=len(leave), restricted=restricted, unconfirmed=unconfirmed
        )


def set_times(folder: Path, **times: str) -> None:
    with sqlite3.connect(folder / "log.sqlite") as database:
        for entry, at in times.items():
            database.execute(
                "UPDATE entry_changes SET at = ? WHERE entry = ?", [at, entry.replace("_", "-")]
            )


def test_the_log_knows_when_an_entry_changed(tmp_path: Path) -> None:
    """From the moment on, that moment included; a new place in the order is no change."""
    folder = make_log(tmp_path / "log", *ENTRIES)
    set_times(
        folder,
        e_1="2021-05-01T10:00:00Z",
        e_2="2021-05-02T10:00:00Z",
        **{f"e_{n}": "2021-04-01T00:00:00Z" for n in (3, 4, 5, 6)},
    )
    with Log.open(folder) as log:
        assert log.last_change() == "2021-05-02T10:00:00Z"
        assert log.changes_since("2021-05-02T10:00:00Z").entries == {"e-2"}
        assert log.changes_since("2021-05-01T10:00:00Z").entries == {"e-1", "e-2"}
        assert log.changes_since("2021-05-02T10:00:01Z").entries == set()
    make_log(folder, *reversed(ENTRIES))
    with Log.open(folder) as log:
        assert log.last_change() == "2021-05-02T10:00:00Z"
    moved = replace(ENTRIES[2], volume="2")
    make_log(folder, *ENTRIES[:2], moved, *ENTRIES[3:])
    with Log.open(folder) as log:
        assert log.changes_since("2021-05-03T00:00:00Z").entries == {"e-3"}


def test_a_volume_that_something_was_moved_out_of_changed_too(tmp_path: Path) -> None:
    """Its record elsewhere still lists what is no longer in it."""
    folder = make_log(tmp_path / "log", *ENTRIES)
    make_log(folder, replace(TICKET, volume="2"), *ENTRIES[1:])
    set_times(folder, **{f"e_{n}": "2020-01-01T00:00:00Z" for n in range(2, 7)})
    with Log.open(folder) as log:
        volumes = log.changes_since("2021-01-01T00:00:00Z").volumes
    assert volumes == {
        VolumeKey(accession="2031-007", volume="1"),
        VolumeKey(accession="2031-007", volume="2"),
    }
