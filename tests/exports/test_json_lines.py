"""JSON Lines: the records of the contract, nothing more and nothing less."""

from __future__ import annotations

import json
from pathlib import Path

from tests.exports.logs import make_log, write
from voicelog.domain.entry import Entry, Kind, format_entry_record


def test_each_line_is_the_record_of_an_entry(tmp_path: Path) -> None:
    """Nothing is left out, nothing is escaped that need not be."""
    entry = Entry(id="e-1", kind=Kind.ITEM, caption="Fête “au bord\nde l’eau”\x1b")
    target = write("jsonl", make_log(tmp_path / "log", entry), tmp_path / "entries.jsonl")
    [line] = target.read_text(encoding="utf-8").splitlines()
    assert json.loads(line) == format_entry_record(entry, number=1)
    assert "Fête" in line
