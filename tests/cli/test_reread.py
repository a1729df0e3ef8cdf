"""voicelog reread: a real log, read again after the vocabulary grew."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Result, Voicelog

SAID = b"""accession twenty thirty one dash zero zero seven
volume one, the green book
leaf four recto, a postcard, photo corners, freckled
another one, the same
leaf five, a ticket, torn
"""


@pytest.fixture
def log(voicelog: Voicelog, tmp_path: Path) -> Path:
    """A log whose notes hold a word that the vocabulary doesn't know."""
    folder = tmp_path / "green-book"
    assert voicelog("parse", "-", "--log", folder, stdin=SAID).status == 0
    return folder


def learn(voicelog: Voicelog) -> None:
    result = voicelog("vocabulary", "add", "condition", "foxing", "--variant", "freckled")
    assert result.status == 0


def records(result: Result) -> list[dict[str, object]]:
    return [json.loads(line) for line in result.out.splitlines()]


def entries(voicelog: Voicelog, log: Path) -> list[dict[str, object]]:
    return records(voicelog("show", "--json", "--log", log))


def fingerprint(log: Path) -> str:
    with closing(sqlite3.connect(log / "log.sqlite")) as database:
        return hashlib.sha256("\n".join(database.iterdump()).encode()).hexdigest()


def confirm(log: Path, number: int) -> None:
    """As a review will do it, straight in the table; nothing else writes this yet."""
    with closing(sqlite3.connect(log / "log.sqlite")) as database, database:
        database.execute(
            "UPDATE entries SET status = 'confirmed' "
            "WHERE id = (SELECT id FROM entries ORDER BY rank LIMIT 1 OFFSET ?)",
            [number - 1],
        )


def test_a_new_variant_changes_the_entries_and_keeps_what_was(
    voicelog: Voicelog, log: Path
) -> None:
    """Before and after for every field, ids unchanged, revisions with the reason."""
    before = entries(voicelog, log)
    learn(voicelog)
    result = voicelog("reread", "--log", log)
    assert result.status == 0
    assert "changed entry 2, leaf 4 recto: postcard, photo corners, foxing" in result.out
    assert "condition: nothing → foxing" in result.out
    assert "remark: freckled → nothing" in result.out
    assert "status: queried → heard" in result.out
    assert "changed entry 3, " in result.out
    assert "5 notes read again: 2 entries changed." in result.err
    after = entries(voicelog, log)
    assert [each["id"] for each in after] == [each["id"] for each in before]
    assert [each["condition"] for each in after] == [[], ["foxing"], ["foxing"], ["tear"]]
    with closing(sqlite3.connect(log / "log.sqlite")) as database:
        revisions = database.execute(
            "SELECT field, before, after, reason FROM revisions WHERE entry = ?", [before[1]["id"]]
        ).fetchall()
    assert ("condition", "[]", '["foxing"]') in {row[:3] for row in revisions}
    assert {row[3][:16] for row in revisions} == {"read again by vo"}


def test_a_second_time_changes_nothing(voicelog: Voicelog, log: Path) -> None:
    """Same notes, same vocabulary, same entries, down to the last byte of the tables."""
    learn(voicelog)
    voicelog("reread", "--log", log)
    before = fingerprint(log)
    result = voicelog("reread", "--log", log)
    assert (result.status, result.out) == (0, "")
    assert "5 notes read again: no entries changed." in result.err
    assert fingerprint(log) == before


def test_a_log_read_again_equals_a_log_begun_again(
    voicelog: Voicelog, log: Path, tmp_path: Path
) -> None:
    """Nothing of the first reading lingers; only ids and the clock differ."""
    learn(voicelog)
    voicelog("reread", "--log", log)
    voicelog("parse", "-", "--log", tmp_path / "anew", stdin=SAID)

    def without_ids(folder: Path) -> list[dict[str, object]]:
        return [
            {key: value for key, value in each.items() if key not in {"id", "recorded_at"}}
            for each in entries(voicelog, folder)
        ]

    assert without_ids(log) == without_ids(tmp_path / "anew")


def test_a_dry_run_says_the_same_and_writes_nothing(voicelog: Voicelog, log: Path) -> None:
    """What it says is what then happens."""
    learn(voicelog)
    before = fingerprint(log)
    tried = voicelog("reread", "--log", log, "--dry-run", "--json")
    assert "2 entries would change." in tried.err
    assert fingerprint(log) == before
    assert voicelog("reread", "--log", log, "--json").out == tried.out
    assert fingerprint(log) != before


def test_json_gives_before_and_after(voicelog: Voicelog, log: Path) -> None:
    """One object for each entry that comes out differently."""
    learn(voicelog)
    first, second = records(voicelog("reread", "--log", log, "--json"))
    assert (first["entry"], first["outcome"]) == (2, "changed")
    assert second == {
        "id": second["id"],
        "entry": 3,
        "outcome": "changed",
        "fields": {"condition": {"before": [], "after": ["foxing"]}},
    }


def test_a_confirmed_entry_stays_and_is_named(voicelog: Voicelog, log: Path) -> None:
    """Also when another command reads the log again before it takes notes."""
    confirm(log, 2)
    learn(voicelog)
    result = voicelog("reread", "--log", log)
    assert "kept    entry 2, " in result.out
    assert "It is confirmed and stays as it is; a reading would have changed:" in result.out
    assert "5 notes read again: 1 entry changed, 1 confirmed entry stays as decided." in result.err
    voicelog("parse", "-", "--log", log, stdin=b"leaf six, blank")
    after = entries(voicelog, log)
    assert [each["condition"] for each in after[:3]] == [[], [], ["foxing"]]
    assert [each["status"] for each in after[:3]] == ["heard", "confirmed", "heard"]
    assert after[1]["remark"] == "freckled"
    kept = records(voicelog("reread", "--log", log, "--json"))
    assert [(each["entry"], each["outcome"]) for each in kept] == [(2, "kept")]


def test_a_changed_setting_is_read_again_too(
    voicelog: Voicelog, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Except those that were kept with the log when it was begun, and it says so."""
    monkeypatch.setenv("VOICELOG_ACCESSION_PATTERNS", r"TV-\d+")
    monkeypatch.setenv("VOICELOG_DEFAULT_UNIT", "cm")
    result = voicelog("reread", "--log", log)
    assert "This log was begun with default_unit = 'inch' and keeps it" in result.err
    assert "doubts: nothing → " in result.out
    assert entries(voicelog, log)[0]["status"] == "queried"


def test_there_must_be_a_log(voicelog: Voicelog, tmp_path: Path) -> None:
    """Reading never begins one."""
    for more in ((), ("--dry-run",)):
        result = voicelog("reread", "--log", tmp_path / "none", *more)
        assert result.status == 2
        assert result.err.count("\n") == 1
    assert not (tmp_path / "none").exists()


def test_a_wrong_term_file_leaves_the_log_alone(
    voicelog: Voicelog, log: Path, tmp_path: Path
) -> None:
    """One sentence, and every entry as it was."""
    before = fingerprint(log)
    terms = tmp_path / "config" / "voicelog" / "terms"
    terms.mkdir(parents=True)
    (terms / "condition.toml").write_text('field = "condition"\n[[concept]]\nid = "x"\n')
    result = voicelog("reread", "--log", log)
    assert (result.status, result.out) == (1, "")
    assert "condition.toml: 'x': term is missing; add it." in result.err
    assert fingerprint(log) == before
