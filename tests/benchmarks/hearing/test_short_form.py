"""The short form of the hearing bench: real sound, both engines, in seconds."""

from __future__ import annotations

from pathlib import Path

from tests.benchmarks.hearing.__main__ import main
from tests.benchmarks.hearing.cache import Cell, HearingCache

REFERENCE = Path(__file__).parents[2] / "reference"


def test_what_was_heard_is_kept_counted_and_drawn(tmp_path: Path) -> None:
    """Two strings of AN4, clean and with hum; a second run hears nothing again."""
    arguments = [str(tmp_path / "cache"), "--speech", str(REFERENCE), "--short"]
    main([*arguments, "--out", str(tmp_path / "first")])
    cell = Cell(
        set_name="an4",
        voice="people, training",
        condition="clean",
        engine="whisper",
        biasing="standing",
    )
    heard = HearingCache(tmp_path / "cache").heard(cell)
    assert len(heard) == 2
    assert all(one.heard.words and one.cpu_s > 0 and 1 < one.seconds < 20 for one in heard.values())
    table = (tmp_path / "first" / "table.md").read_text("utf-8")
    for engine in ("whisper", "vosk"):
        for condition in ("clean", "hum"):
            assert f"| AN4, strings | people, training | {condition} | {engine} |" in table
    assert (tmp_path / "first" / "hearing.png").stat().st_size > 5_000
    before = (tmp_path / "cache" / "heard" / cell.file_name).read_bytes()
    main([*arguments, "--out", str(tmp_path / "again")])
    assert (tmp_path / "cache" / "heard" / cell.file_name).read_bytes() == before
    assert (tmp_path / "again" / "table.md").read_text("utf-8") == table
