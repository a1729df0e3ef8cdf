"""backup: a copy that is there when all of it is, and says what is in it."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Voicelog
from tests.session.bringing_in.benches import Bench
from tests.store.test_soundness import page_at, spoil_page
from voicelog.store.log import Log


def test_it_says_what_is_in_the_copy_and_any_command_reads_it(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    result = voicelog("backup", "--log", filled_log, "--out", tmp_path / "copy")
    assert result.status == 0, result.err
    assert "6 notes, 6 entries, 0 acts of review, 0 recordings" in result.err
    original = voicelog("show", "--json", "--log", filled_log)
    copied = voicelog("show", "--json", "--log", tmp_path / "copy")
    assert copied.out == original.out != ""


def test_nothing_that_is_there_is_written_over(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    (tmp_path / "copy").mkdir()
    (tmp_path / "copy" / "last week").touch()
    result = voicelog("backup", "--log", filled_log, "--out", tmp_path / "copy")
    assert (result.status, "is there already" in result.err) == (2, True)
    inside = voicelog("backup", "--log", filled_log, "--out", filled_log / "copy")
    assert (inside.status, "inside the log itself" in inside.err) == (2, True)


def test_of_a_damaged_log_no_copy_appears_and_doctor_says_what_to_do(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    database = filled_log / "log.sqlite"
    with Log.open(filled_log):
        spoil_page(database, page_at(database, "note number 3"))
    result = voicelog("backup", "--log", filled_log, "--out", tmp_path / "copy")
    assert (result.status, "voicelog salvage" in result.err) == (1, True)
    assert not (tmp_path / "copy").exists()
    assert not list(tmp_path.glob(".unfinished-*"))
    examined = voicelog("doctor", "--log", filled_log, columns=200)
    assert examined.status == 1
    assert "The database is damaged" in examined.out
    assert "voicelog salvage" in examined.out


def test_a_missing_recording_is_named_by_both(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    Bench(filled_log).record("morning.wav", b"sound")
    (filled_log / "audio" / "morning.wav").unlink()
    result = voicelog("backup", "--log", filled_log, "--out", tmp_path / "copy")
    assert (result.status, "morning.wav is missing" in result.err) == (1, True)
    assert (tmp_path / "copy" / "log.sqlite").exists()
    examined = voicelog("doctor", "--log", filled_log, columns=200)
    assert (examined.status, "morning.wav is missing" in examined.out) == (1, True)
