"""Salvage: whatever page of a log is spoiled, what the others hold is in the new one.

The short form of ``python -m tests.benchmarks.faults.pages``, which spoils every page.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.session.salvage_case import (
    Whole,
    check,
    copy,
    make_whole,
    page_holding,
    rescue,
)
from tests.store.test_soundness import PAGE_BYTES, spoil_page
from voicelog.domain.act import ActKind
from voicelog.errors import UsageError
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.wiring.keeping import salvage_log


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return make_whole(tmp_path_factory.mktemp("whole") / "log")


def test_a_log_without_damage_comes_out_as_it_is(whole: Whole, tmp_path: Path) -> None:
    rescued = rescue(whole.folder, tmp_path / "new")
    check(whole, rescued)
    assert rescued.entries == whole.entries
    assert (rescued.losses.broken_pages, rescued.losses.rows) == (0, 0)
    assert (rescued.salvaged.read_anew, rescued.salvaged.kept) == (0, 0)


@pytest.mark.parametrize("table", ["notes", "entries", "acts", "decisions"])
def test_one_spoiled_page_costs_what_was_on_it_and_nothing_else(
    whole: Whole, tmp_path: Path, table: str
) -> None:
    """Also not by reading what is left: places and values stay as they were understood."""
    database = copy(whole, tmp_path / "damaged")
    spoil_page(database, page_holding(whole.folder, table))
    rescued = rescue(tmp_path / "damaged", tmp_path / "new")
    check(whole, rescued)
    losses, salvaged = rescued.losses, rescued.salvaged
    assert losses.broken_pages == 1
    assert bool(losses.notes) == (table == "notes")
    assert bool(losses.acts) == (table == "acts")
    assert bool(losses.acts_in_part) == (table == "decisions")
    assert bool(salvaged.read_anew) == (table == "entries")
    assert len(rescued.entries) == len(whole.entries)
    with Log.open(rescued.folder) as log:
        kinds = [act.kind for act in log.iter_acts()]
    assert (ActKind.SALVAGE in kinds) == (table != "entries")


def test_the_first_page_is_not_needed(whole: Whole, tmp_path: Path) -> None:
    """It says where every table begins; what the tables hold can be told from their rows."""
    spoil_page(copy(whole, tmp_path / "damaged"), 1, with_byte=0)
    rescued = rescue(tmp_path / "damaged", tmp_path / "new")
    check(whole, rescued)
    assert rescued.entries == whole.entries


def test_a_file_that_was_cut_off_gives_what_is_there(whole: Whole, tmp_path: Path) -> None:
    database = copy(whole, tmp_path / "damaged")
    database.write_bytes(database.read_bytes()[: whole.pages * 4 // 5 * PAGE_BYTES])
    rescued = rescue(tmp_path / "damaged", tmp_path / "new")
    check(whole, rescued)
    assert 0 < rescued.salvaged.notes < len(whole.notes)


def test_a_recording_that_the_log_forgot_is_taken_up_behind_its_last_note(
    whole: Whole, tmp_path: Path
) -> None:
    spoil_page(copy(whole, tmp_path / "damaged"), page_holding(whole.folder, "recordings"))
    rescued = rescue(tmp_path / "damaged", tmp_path / "new")
    check(whole, rescued)
    assert rescued.salvaged.adopted == ("morning.flac",)
    with Log.open(rescued.folder) as log:
        (recording,) = log.iter_recordings()
    assert recording.finished_at is None
    assert recording.heard_to_s == max(note.end_s or 0.0 for note in whole.notes)


def test_a_file_that_is_no_sound_is_named(whole: Whole, tmp_path: Path) -> None:
    copy(whole, tmp_path / "damaged")
    (tmp_path / "damaged" / "audio" / "evening.wav").write_bytes(b"not a sound")
    rescued = rescue(tmp_path / "damaged", tmp_path / "new")
    assert rescued.salvaged.unreadable == ("evening.wav",)


def test_nothing_that_is_there_is_written_over(whole: Whole, tmp_path: Path) -> None:
    settings = read_settings(environment={})
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "something").touch()
    with pytest.raises(UsageError, match="is there already"):
        salvage_log(whole.folder, tmp_path / "new", settings)
    with pytest.raises(UsageError, match="inside the log itself"):
        salvage_log(whole.folder, whole.folder / "new", settings)
