"""salvage: a new log of what is left, and a sentence for everything that isn't."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Voicelog
from tests.session.salvage_case import page_holding
from tests.store.test_soundness import spoil_page


def test_it_names_what_is_lost(voicelog: Voicelog, filled_log: Path, tmp_path: Path) -> None:
    """And ends with 1; the damaged log stays as it is."""
    database = filled_log / "log.sqlite"
    spoil_page(database, page_holding(filled_log, "notes"))
    before = database.read_bytes()
    result = voicelog("salvage", "--log", filled_log, "--out", tmp_path / "new")
    assert result.status == 1, result.err
    assert "1 page of its database could not be read." in result.err
    assert "Of note 1 only the words are left" in result.err
    assert "Lost: notes 2, 3, 4, 5, 6." in result.err
    assert database.read_bytes() == before
    assert voicelog("show", "--log", tmp_path / "new").status == 0
    assert voicelog("doctor", "--log", tmp_path / "new", columns=120).status == 0


def test_of_a_log_without_damage_nothing_is_lost(voicelog: Voicelog, tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("accession 2031-007\nvolume one\nleaf two, a postcard\nblorf\n")
    log = tmp_path / "log"
    voicelog("parse", notes, "--log", log)
    result = voicelog("salvage", "--log", log, "--out", tmp_path / "new")
    assert (result.status, "Nothing is lost." in result.err) == (0, True)
    old, new = (voicelog("show", "--json", "--log", one) for one in (log, tmp_path / "new"))
    assert old.out == new.out != ""
