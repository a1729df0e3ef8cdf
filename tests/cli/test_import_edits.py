"""import-edits: a table out, edited, and back; what is shown and said on the way."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Voicelog
from voicelog.store.log import Log


def test_edits_are_shown_and_brought_back(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    """A dry run only shows; then each value is in the log, with who decided it."""
    table = tmp_path / "entries.csv"
    voicelog("export", "csv", "--log", filled_log, "--out", table, "--include-unconfirmed")
    command = ("import-edits", table, "--log", filled_log, "--by", "Ada Fenn")
    assert "4 rows read; nothing in them differs from the log." in voicelog(*command).err
    text = table.read_text(encoding="utf-8")
    table.write_text(text.replace("1952-06-04", "about 1960"), encoding="utf-8", newline="")
    shown = voicelog(*command, "--dry-run", columns=120)
    assert "date: 1952-06-04 → 1960~" in shown.out
    assert "1 value of 1 entry would change." in shown.err
    result = voicelog(*command, "--json")
    assert json.loads(result.out) == {
        "id": "e-4",
        "entry": 4,
        "fields": {"date": {"before": "1952-06-04", "after": "1960~"}},
    }
    assert "1 value of 1 entry changed." in result.err
    with Log.open(filled_log) as log:
        [act] = log.iter_acts()
    assert (str(act.kind), act.by) == ("set", "Ada Fenn")


def test_what_is_wrong_is_said_row_by_row_and_nothing_changes(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path
) -> None:
    """Exit status 1; who edited must be known, and the table must be there."""
    table = tmp_path / "entries.csv"
    voicelog("export", "csv", "--log", filled_log, "--out", table, "--include-unconfirmed")
    text = table.read_text(encoding="utf-8").replace("1952-06-04", "someday")
    table.write_text(text.replace("post binding", "string"), encoding="utf-8", newline="")
    result = voicelog("import-edits", table, "--log", filled_log, "--by", "Ada Fenn")
    assert result.status == 1
    assert "Row 5: " in result.err
    assert "'someday' is no value for date" in result.err
    assert "so nothing was changed." in result.err
    with Log.open(filled_log) as log:
        assert list(log.iter_acts()) == []
    result = voicelog("import-edits", table, "--log", filled_log)
    assert (result.status, "with --by or in the setting handler" in result.err) == (2, True)
    result = voicelog("import-edits", "no.csv", "--by", "A", "--log", filled_log)
    assert (result.status, "no.csv can't be read" in result.err) == (1, True)
