"""show and notes: what they print, and what they never print."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.cli.conftest import ENTRIES, Voicelog
from voicelog.domain.entry import RECORD_FIELDS

ROOT = Path(__file__).parents[2]


def json_lines(text: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in text.splitlines()]


def test_show_json_is_the_entry_record(voicelog: Voicelog, filled_log: Path) -> None:
    """One object a line, every key of the contract, void entries left out."""
    result = voicelog("show", "--json", "--log", filled_log)
    records = json_lines(result.out)
    assert result.status == 0
    assert [record["entry"] for record in records] == [1, 2, 3, 4, 5]
    assert all(tuple(record) == RECORD_FIELDS for record in records)
    assert records[3]["doubts"] == ["“fore” fits nothing."]
    everything = json_lines(voicelog("show", "--json", "--all", "--log", filled_log).out)
    assert [record["id"] for record in everything] == [entry.id for entry in ENTRIES]


def test_provenance_names_the_words_behind_a_value(voicelog: Voicelog, filled_log: Path) -> None:
    """A span of a note, or that it was carried over."""
    result = voicelog("show", "--json", "--provenance", "--log", filled_log)
    sources = json_lines(result.out)[3]["sources"]
    assert sources == {
        "item_type": [{"note": 4, "start": None, "end": None, "text": "clipping"}],
        "leaf": "context",
    }
    shown = voicelog("show", "--provenance", "--log", filled_log).out
    assert "item_type: note 4 “clipping”" in shown
    assert "leaf: carried over" in shown


@pytest.mark.parametrize("columns", [60, 80, 120, 200])
def test_the_table_fits_the_terminal(voicelog: Voicelog, filled_log: Path, columns: int) -> None:
    """No line is wider than the terminal, and none is cut off."""
    result = voicelog("show", "--all", "--log", filled_log, columns=columns)
    assert result.status == 0
    assert max(cell_len(line) for line in result.out.splitlines()) <= columns
    together = " ".join(result.out.split())
    for word in ("Quillhaven", "newspaper", "1952-06-04", "355.6", "fits nothing."):
        assert word in together
    assert "…" not in result.out


def test_the_table_shows_doubts_restrictions_and_void_entries(
    voicelog: Voicelog, filled_log: Path
) -> None:
    """What needs a person is said in words, not only in colour."""
    result = voicelog("show", "--log", filled_log)
    assert "?    4  1. newspaper" in result.out
    assert "? “fore” fits nothing." in result.out
    assert "access restricted" in result.out
    assert "5 entries, 1 of them queried (marked ?)." in result.out
    assert "ticket" not in result.out
    assert "Void entries" in voicelog("show", "--all", "--log", filled_log).out


@pytest.mark.parametrize("command", [("show",), ("show", "--json"), ("notes",), ("show", "--all")])
def test_nothing_that_steers_a_terminal_is_printed(
    voicelog: Voicelog, filled_log: Path, command: tuple[str, ...]
) -> None:
    """A caption can't colour, ring, or turn the text around."""
    out = voicelog(*command, "--log", filled_log).out
    assert not {"\x1b", "\x07", "\x9b"} & set(out)
    if "--json" not in command:
        assert "\u202e" not in out


def test_terms_can_be_shown_in_american_spelling(
    voicelog: Voicelog, filled_log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only in the table: records keep the preferred spelling."""
    assert "colour" in voicelog("show", "--log", filled_log).out
    monkeypatch.setenv("VOICELOG_SPELLING", "american")
    assert "color photograph" in " ".join(voicelog("show", "--log", filled_log).out.split())
    assert '"colour photograph"' in voicelog("show", "--json", "--log", filled_log).out


def test_notes_json_is_the_note_record(voicelog: Voicelog, filled_log: Path) -> None:
    """Words with their times, the engine, what was struck, and the entries behind it."""
    records = json_lines(voicelog("notes", "--json", "--log", filled_log).out)
    assert records[0] == {
        "note": 1,
        "recording": None,
        "start": 0.5,
        "end": 2.0,
        "text": "note number 1",
        "words": [{"word": "note", "start": 0.5, "end": 0.9, "confidence": 0.8}],
        "engine": "whisper",
        "model": "tiny.en",
        "struck": False,
        "entries": [1],
    }
    assert records[5]["struck"] is True
    assert records[5]["entries"] == []
    assert "note number 6  (struck)" in voicelog("notes", "--log", filled_log).out


def test_a_missing_log_is_wrong_usage(
    voicelog: Voicelog, filled_log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--log wins over the variable, the variable over ./voicelog-log."""
    for command in (("show",), ("notes",), ("export", "csv", "--out", "x.csv")):
        result = voicelog(*command)
        assert result.status == 2
        assert result.err.startswith("voicelog: voicelog-log is not there; name a log's folder")
        assert result.err.count("\n") == 1
    monkeypatch.setenv("VOICELOG_LOG", str(filled_log))
    assert voicelog("show").status == 0
    assert voicelog("show", "--log", "nowhere").status == 2


def test_a_wrong_setting_is_one_sentence(
    voicelog: Voicelog, filled_log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit status 2, and the variable is named."""
    monkeypatch.setenv("VOICELOG_PAUSE_MS", "soon")
    result = voicelog("show", "--log", filled_log)
    assert result.status == 2
    assert "VOICELOG_PAUSE_MS" in result.err
    assert result.err.count("\n") == 1


def test_a_closed_pipe_is_no_reason_to_complain(filled_log: Path) -> None:
    """`voicelog show | head -1` prints one line and nothing else."""
    reading, writing = os.pipe()
    os.close(reading)
    ended = subprocess.run(
        [sys.executable, "-m", "voicelog", "notes", "--json", "--log", str(filled_log)],
        stdout=writing,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        check=False,
    )
    os.close(writing)
    assert ended.returncode == 128 + signal.SIGPIPE
    assert ended.stderr == b""


def test_doctor_names_every_part(
    voicelog: Voicelog, filled_log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each part has a line; a log that others can read is something to mend."""
    result = voicelog("doctor", "--log", filled_log, columns=120)
    assert result.status == 0, result.out
    for part in ("Python", "SQLite", "packages", "settings", "model", "microphone", "disk", "log"):
        assert part in result.out
    filled_log.chmod(0o755)
    result = voicelog("doctor", "--log", filled_log, columns=120)
    assert result.status == 1
    assert "can be read by others" in result.out
    monkeypatch.setenv("VOICELOG_FIRST_PAGE", "none")
    assert "VOICELOG_FIRST_PAGE" in voicelog("doctor", "--log", filled_log, columns=120).out
