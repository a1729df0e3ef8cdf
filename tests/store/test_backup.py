"""A backup is the log at one moment, opens as a log, and never counts before it was read again."""

from __future__ import annotations

import shutil
import sqlite3
import stat
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.session.bringing_in.benches import Bench
from tests.store.test_soundness import change_one_bit, page_at, remove, spoil_page
from voicelog.errors import StoreError, UsageError
from voicelog.store.backup import back_up
from voicelog.store.log import Log
from voicelog.store.soundness import Harm, find_log_damage

SAID = ("accession 2031-007", "volume one, the green book", "leaf two, a postcard, photo corners")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "log")
    bench.record("morning.wav", b"the sound of the morning")
    bench.say(*SAID)
    postcard = bench.find("postcard")
    with Log.open(bench.folder) as log:
        stored = log.find_entry(postcard.id)
        assert stored is not None
        seen = stored.seen
    bench.review().confirm([seen])
    return bench


@pytest.fixture
def target(tmp_path: Path) -> Path:
    (tmp_path / "copy").mkdir()
    return tmp_path / "copy"


def dump(folder: Path) -> list[str]:
    with Log.open(folder) as log:
        return list(log._database.conn.iterdump())


def test_the_copy_holds_what_the_log_holds(bench: Bench, target: Path) -> None:
    """Row for row, file for file, for its owner alone; the count is that of the copy."""
    made = back_up(bench.folder, target)
    assert dump(target) == dump(bench.folder)
    assert (target / "audio" / "morning.wav").read_bytes() == b"the sound of the morning"
    assert (made.notes, made.entries, made.acts, made.recordings) == (3, 2, 1, 1)
    assert made.damage == ()
    modes = {stat.S_IMODE(path.stat().st_mode) for path in target.rglob("*") if path.is_file()}
    assert modes == {0o600}
    assert stat.S_IMODE(target.stat().st_mode) == 0o700
    assert list(find_log_damage(target)) == []


def test_a_restored_log_goes_on_where_it_stopped(
    bench: Bench, target: Path, tmp_path: Path
) -> None:
    """Restoring is copying back: the place, the decisions and the ids are as they were."""
    back_up(bench.folder, target)
    before = bench.entries()
    shutil.rmtree(bench.folder)
    shutil.copytree(target, tmp_path / "restored")
    restored = Bench(tmp_path / "restored")
    assert restored.entries() == before
    restored.say("turn over", "a ticket")
    assert restored.entries()[: len(before)] == before
    assert restored.items()[-1] == "2 verso 1 ticket"


def test_it_is_taken_while_somebody_writes(tmp_path: Path) -> None:
    """Each copy is the log after some whole note, with the entries of exactly those notes."""
    bench = Bench(tmp_path / "log")
    bench.say(*SAID[:2])
    stop = threading.Event()

    def speak() -> None:
        number = 3
        while not stop.is_set():
            bench.say(*(f"leaf {number + nth}, a ticket" for nth in range(5)))
            number += 5

    speaker = threading.Thread(target=speak)
    speaker.start()
    try:
        counted = []
        for nth in range(5):
            copy = tmp_path / f"copy {nth}"
            copy.mkdir()
            counted.append(back_up(bench.folder, copy).notes)
    finally:
        stop.set()
        speaker.join()
    for nth, notes in enumerate(counted):
        copied = Bench(tmp_path / f"copy {nth}")
        with Log.open(copied.folder) as log:
            assert [note.number for note in log.iter_notes()] == list(range(1, notes + 1))
        assert len(copied.items()) == notes - 2
        assert copied.reread().changed == 0
    assert sorted(counted) == counted


def test_what_is_still_being_recorded_is_copied_as_far_as_it_is(bench: Bench, target: Path) -> None:
    with closing(sqlite3.connect(bench.folder / "log.sqlite")) as database:
        database.execute("UPDATE recordings SET sha256 = ''")
        database.commit()
    made = back_up(bench.folder, target)
    assert (made.recordings, made.growing, made.damage) == (1, 1, ())


def test_a_half_copied_recording_stays_behind(bench: Bench, target: Path) -> None:
    (bench.folder / "audio" / ".incoming-0").write_bytes(b"half")
    back_up(bench.folder, target)
    assert [path.name for path in (target / "audio").iterdir()] == ["morning.wav"]


@pytest.mark.parametrize(
    ("harm_it", "harm"), [(remove, Harm.MISSING), (change_one_bit, Harm.CHANGED)]
)
def test_a_recording_that_is_not_as_it_was_is_told_and_the_rest_is_kept(
    bench: Bench, target: Path, harm_it: Callable[[Path], None], harm: Harm
) -> None:
    harm_it(bench.folder / "audio" / "morning.wav")
    made = back_up(bench.folder, target)
    assert [damage.harm for damage in made.damage] == [harm]
    assert made.notes == len(SAID)


def test_a_damaged_log_is_not_backed_up(bench: Bench, target: Path) -> None:
    """A copy of damage would push good copies out of the cupboard."""
    database = bench.folder / "log.sqlite"
    spoil_page(database, page_at(database, "a postcard, photo corners"))
    with pytest.raises(StoreError, match="voicelog salvage"):
        back_up(bench.folder, target)


def test_where_no_log_is_nothing_is_copied(tmp_path: Path, target: Path) -> None:
    with pytest.raises(UsageError, match="is not there"):
        back_up(tmp_path / "nowhere", target)
