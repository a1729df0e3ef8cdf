"""export and exports: what is said about what leaves, and what the log remembers of it."""

from __future__ import annotations

import csv
import hashlib
import json
from dataclasses import replace
from pathlib import Path

import pytest

from tests.checks.scans.pictures import draw_page, save_page
from tests.cli.conftest import Voicelog
from voicelog.store.lock import WriterLock
from voicelog.store.writing import Understanding, WritableLog


def ids(target: Path) -> list[str]:
    with target.open(encoding="utf-8", newline="") as stream:
        if target.suffix == ".csv":
            return [row["id"] for row in csv.DictReader(stream)]
        return [json.loads(line)["id"] for line in stream]


@pytest.mark.parametrize("format_", ["csv", "jsonl"])
def test_export_says_what_stays_and_why(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path, format_: str
) -> None:
    """Nobody should take the file for complete."""
    target = tmp_path / f"entries.{format_}"
    result = voicelog("export", format_, "--log", filled_log, "--out", target)
    assert (result.status, result.out) == (0, "")
    assert f"0 entries written to {target}." in result.err
    assert "4 entries that nobody has confirmed were left out;" in result.err
    assert "1 restricted entry was left out; --include-restricted writes them too." in result.err
    assert ids(target) == []
    arguments = ("export", format_, "--log", filled_log, "--out", target, "--include-unconfirmed")
    assert f"4 entries written to {target}." in voicelog(*arguments).err
    assert ids(target) == ["e-1", "e-2", "e-3", "e-4"]
    assert "left out" not in voicelog(*arguments, "--include-restricted").err
    assert ids(target) == ["e-1", "e-2", "e-3", "e-4", "e-5"]


def test_the_log_remembers_every_export(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    """What, when, with what in it, and which bytes."""
    assert "Nothing was exported" in voicelog("exports", "--log", filled_log).err
    target = tmp_path / "entries.csv"
    voicelog("export", "csv", "--log", filled_log, "--out", target, "--include-unconfirmed")
    [record] = [
        json.loads(line)
        for line in voicelog("exports", "--json", "--log", filled_log).out.splitlines()
    ]
    assert record["format"] == "csv"
    assert record["name"] == "entries.csv"
    assert (record["entries"], record["restricted_left_out"]) == (4, 1)
    assert (record["include_unconfirmed"], record["include_restricted"]) == (True, False)
    content = target.read_bytes()
    assert record["files"] == [
        {
            "name": "entries.csv",
            "sha256": hashlib.sha256(content).hexdigest(),
            "size_bytes": len(content),
        }
    ]
    shown = voicelog("exports", "--log", filled_log, columns=120).out
    assert "entries.csv" in shown
    assert record["files"][0]["sha256"][:16] in shown


def test_the_same_log_exported_twice_gives_the_same_bytes(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    """The record of the first export is no change of the log."""
    first, second = tmp_path / "1.csv", tmp_path / "2.csv"
    for target in (first, second):
        voicelog("export", "csv", "--log", filled_log, "--out", target, "--include-unconfirmed")
    assert first.read_bytes() == second.read_bytes()


def test_only_what_changed_since_the_last_export_leaves(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    """A date works as well; what is neither is refused."""
    target = tmp_path / "entries.csv"
    arguments = ("export", "csv", "--log", filled_log, "--out", target, "--include-unconfirmed")
    result = voicelog(*arguments, "--changed-since", "last")
    assert result.status == 2
    assert "records no export as csv yet; leave --changed-since out" in result.err
    voicelog(*arguments, "--changed-since", "2001-01-01")
    assert len(ids(target)) == 4
    voicelog(*arguments, "--changed-since", "last")
    assert ids(target) == []
    with WritableLog.open_to_write(filled_log, made_by="voicelog test") as log:
        entries = [entry for _, entry in log.iter_entries(include_void=True)]
        entries[1] = replace(entries[1], remark="a hole for a string")
        order = tuple(entry.id for entry in entries)
        changed = Understanding(changed=tuple(entries), order=order, struck=frozenset({6}))
        log.write_understanding(changed, reason="a test")
    voicelog(*arguments, "--changed-since", "last")
    assert ids(target) == ["e-2"]
    voicelog(*arguments, "--changed-since", "2999-12-31T23:59:59+02:00")
    assert ids(target) == []
    result = voicelog(*arguments, "--changed-since", "yesterday")
    assert result.status == 2
    assert "'yesterday' is no date or time; write 2031-05-01" in result.err


def test_restricted_entries_leave_only_on_record(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    """While another voicelog writes, the rest may leave unrecorded, and that is said."""
    target = tmp_path / "entries.csv"
    arguments = ("export", "csv", "--log", filled_log, "--out", target, "--include-unconfirmed")
    lock = WriterLock(filled_log)
    lock.acquire()
    try:
        result = voicelog(*arguments, "--include-restricted")
        assert result.status == 1
        assert "Another voicelog" in result.err
        assert not target.exists()
        assert [path.name for path in tmp_path.iterdir() if "unfinished" in path.name] == []
        result = voicelog(*arguments)
        assert result.status == 0
        assert "The log could not record this export. Another voicelog" in result.err
        assert len(ids(target)) == 4
    finally:
        lock.release()


def test_help_lists_the_formats(voicelog: Voicelog) -> None:
    """Each with what it is."""
    result = voicelog("export", "--help")
    assert "one row for each entry" in result.out
    assert voicelog("export", "pdf", "--out", "x").status == 2


def test_scans_give_a_manifest_its_images(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Leaf 14 recto holds something restricted: its picture leaves only with that."""
    for name in ("cover.jpg", "014r.jpg"):
        save_page(tmp_path / "scans" / name, draw_page(1, items=0, size=(60, 80)))
    examples = ["cover.jpg is front cover", "014r.jpg is leaf 14 recto"]
    monkeypatch.setenv("VOICELOG_SCAN_NAMES", json.dumps(examples))
    target = tmp_path / "manifest.json"
    arguments = ("export", "iiif", "--log", filled_log, "--out", target, "--include-unconfirmed")
    assert voicelog(*arguments, "--scans", tmp_path / "scans").status == 0
    assert "/images/cover.jpg" in target.read_text(encoding="utf-8")
    assert "/images/014r.jpg" not in target.read_text(encoding="utf-8")
    voicelog(*arguments, "--scans", tmp_path / "scans", "--include-restricted")
    assert "/images/014r.jpg" in target.read_text(encoding="utf-8")


def test_only_manifests_name_scans(voicelog: Voicelog, filled_log: Path, tmp_path: Path) -> None:
    """A table would silently do without them."""
    result = voicelog(
        *("export", "csv", "--log", filled_log, "--out", tmp_path / "a.csv"),
        *("--scans", tmp_path),
    )
    assert result.status == 2
    assert "Only IIIF manifests name scans; leave --scans out." in result.err
