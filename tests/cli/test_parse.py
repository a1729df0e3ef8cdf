"""parse: typed notes into rows, and every kind of bad input in one sentence."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog
from voicelog.domain.entry import RECORD_FIELDS
from voicelog.store.writing import WritableLog

NOTES = b"""accession 2031-007
volume one, the green book
leaf fourteen recto, a postcard, photo corners
caption reads Lamplighters picnic
goes in envelope seven
"""


@pytest.fixture
def notes_file(tmp_path: Path) -> Path:
    path = tmp_path / "notes.txt"
    path.write_bytes(NOTES)
    return path


def records(text: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in text.splitlines()]


def test_typed_notes_become_rows(voicelog: Voicelog, notes_file: Path, tmp_path: Path) -> None:
    """The record of the contract on standard output, and nothing else there."""
    log = tmp_path / "log"
    result = voicelog("parse", notes_file, "--log", log, "--json")
    assert result.status == 0, result.err
    found = records(result.out)
    assert all(tuple(record) == RECORD_FIELDS for record in found)
    postcard = found[-1]
    assert postcard["accession"] == "2031-007"
    assert (postcard["leaf"], postcard["side"], postcard["item"]) == ("14", "recto", 1)
    assert postcard["item_type"] == ["postcard"]
    assert postcard["enclosure"] == "envelope 7"
    assert postcard["caption"] == "Lamplighters picnic"
    assert voicelog("show", "--json", "--log", log).out == result.out
    assert [note["text"] for note in records(voicelog("notes", "--json", "--log", log).out)] == (
        NOTES.decode().splitlines()
    )


def test_context_goes_on_from_run_to_run(
    voicelog: Voicelog, notes_file: Path, tmp_path: Path
) -> None:
    """Notes taken in two runs give the same rows as notes taken in one."""
    lines = NOTES.splitlines(keepends=True)
    log = tmp_path / "log"
    for line in lines:
        assert voicelog("parse", "-", "--log", log, stdin=line).status == 0
    piecemeal = records(voicelog("show", "--json", "--log", log).out)
    at_once = records(voicelog("parse", notes_file, "--json").out)
    for record in (*piecemeal, *at_once):
        for key in ("id", "recorded_at", "relations"):
            del record[key]
    assert piecemeal == at_once


def test_without_a_log_nothing_is_kept(
    voicelog: Voicelog, notes_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not even where the variable names one."""
    monkeypatch.setenv("VOICELOG_LOG", str(tmp_path / "other"))
    result = voicelog("parse", notes_file)
    assert result.status == 0
    assert "leaf 14 recto" in result.out
    assert "Nothing was kept; --log DIR keeps the notes." in result.err
    assert not (tmp_path / "other").exists()
    assert not (tmp_path / "work" / "voicelog-log").exists()


def test_the_log_keeps_the_unit_it_was_begun_with(
    voicelog: Voicelog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A changed setting doesn't turn inches into centimetres in old rows."""
    log = tmp_path / "log"
    sized = b"leaf one, a map, measures ten by twelve\n"
    voicelog("parse", "-", "--log", log, stdin=NOTES + sized)
    monkeypatch.setenv("VOICELOG_DEFAULT_UNIT", "cm")
    result = voicelog("parse", "-", "--log", log, "--json", stdin=b"leaf two, a map, ten by twelve")
    maps = [each["dimensions"] for each in records(result.out) if each["item_type"] == ["map"]]
    assert maps == [[254.0, 304.8], [254.0, 304.8]]
    assert "begun with default_unit = 'inch' and keeps it" in result.err


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "holds no notes; write one on each line."),
        (b"\n  \n", "holds no notes; write one on each line."),
        (b"leaf one\x00\n", "Line 1 of {} holds NUL characters"),
        (b"x" * 1_000_000, "Line 1 of {} is longer than"),
        (b"caf\xe9 menu\n", "Line 1 of {} is not UTF-8 text"),
        ("\ufeffleaf one".encode("utf-16-le"), "{} is written in UTF-16"),
    ],
)
def test_bad_text_is_one_sentence_and_the_rest_is_taken(
    voicelog: Voicelog, notes_file: Path, tmp_path: Path, content: bytes, sentence: str
) -> None:
    """Exit status 1, and the other file of the same call gives its rows."""
    bad = tmp_path / "bad.txt"
    bad.write_bytes(content)
    result = voicelog("parse", bad, notes_file, "--json")
    assert result.status == 1
    assert sentence.format(bad) in result.err
    assert len(result.err.splitlines()) == 1
    assert "Traceback" not in result.err
    assert records(result.out)[-1]["enclosure"] == "envelope 7"


def test_many_bad_lines_are_not_a_flood(voicelog: Voicelog) -> None:
    """The first ones are named, the others counted."""
    result = voicelog("parse", "-", stdin=b"\x00\n" * 500 + NOTES)
    assert result.status == 1
    assert result.err.count("holds NUL characters") == 5
    assert "495 more lines of standard input were left out as well." in result.err


@pytest.mark.parametrize("name", ["missing.txt", "."])
def test_what_can_not_be_opened_is_named(voicelog: Voicelog, name: str) -> None:
    """A file that is not there, a folder."""
    result = voicelog("parse", name)
    assert result.status == 1
    assert f"{name} can't be read" in result.err


def test_a_busy_log_is_left_alone(voicelog: Voicelog, notes_file: Path, tmp_path: Path) -> None:
    """A second writer is told in one sentence, with exit status 1."""
    with WritableLog.open_to_write(
        tmp_path / "log",
        made_by="voicelog test",
        facts={
            "reading": {
                "default_unit": "inch",
                "default_century": 1900,
                "day_first": False,
                "first_page": 1,
            }
        },
    ) as log:
        result = voicelog("parse", notes_file, "--log", log.folder)
        assert result.status == 1
        assert "is writing to" in result.err
        assert log.count_notes() == 0
    assert voicelog("parse", notes_file, "--log", tmp_path / "log").status == 0


def test_folders_that_hold_something_else_are_refused(
    voicelog: Voicelog, notes_file: Path, tmp_path: Path
) -> None:
    """Nobody's papers become a log by accident."""
    result = voicelog("parse", notes_file, "--log", tmp_path)
    assert result.status == 2
    assert "holds other things and is not a log" in result.err


def test_a_vocabulary_that_grew_changes_earlier_rows_and_keeps_what_they_were(
    voicelog: Voicelog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Interpretation runs again; the notes stay, and the change is on record."""
    log = tmp_path / "log"
    before = voicelog("parse", "-", "--log", log, "--json", stdin=b"leaf one, a wick trimmer\n")
    assert all("wick trimmer" not in entry["item_type"] for entry in records(before.out))
    terms = tmp_path / "lamplighters.toml"
    terms.write_text(
        'field = "item_type"\n[[concept]]\nid = "wick-trimmer"\nterm = "wick trimmer"\n'
        'definition = "A tool of the lamplighters."\n'
    )
    monkeypatch.setenv("VOICELOG_VOCABULARY_FILES", str(terms))
    after = voicelog("parse", "-", "--log", log, "--json", stdin=b"verso blank\n")
    assert "read differently now" in after.err
    found = [entry for entry in records(after.out) if entry["item_type"] == ["wick trimmer"]]
    assert [entry["notes"] for entry in found] == [[1]]
    database = sqlite3.connect(log / "log.sqlite")
    reasons = {row[0] for row in database.execute("SELECT reason FROM revisions")}
    assert database.execute("SELECT text FROM notes WHERE number = 1").fetchone() == (
        "leaf one, a wick trimmer",
    )
    database.close()
    assert any(reason.startswith("read again by voicelog") for reason in reasons)
    again = voicelog("parse", "-", "--log", log, stdin=b"turn over\n")
    assert "read differently" not in again.err
