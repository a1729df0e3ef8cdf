"""The table of threats in DEVELOPERS.md names tests that are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def threats() -> list[tuple[str, str]]:
    """Return each threat with what stands in its last column."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.split("\n## Threats\n", 1)[1].split("\n## ", 1)[0]
    rows = [line.split(" | ") for line in table.splitlines() if line.startswith("| ")]
    return [(row[0].strip("| "), row[-1]) for row in rows if row[0] != "| threat"]


@pytest.mark.parametrize(("threat", "proof"), threats(), ids=[threat for threat, _ in threats()])
def test_every_threat_has_a_test_that_is_there(threat: str, proof: str) -> None:
    """The file, and in it the test where one is named."""
    named = re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", proof)
    assert named, f"nothing proves what is done against: {threat}"
    for file, test in named:
        text = (ROOT / file).read_text(encoding="utf-8")
        assert not test or re.search(rf"^\s*def {test}\b", text, re.MULTILINE), f"{file}::{test}"


def test_the_table_is_found() -> None:
    assert len(threats()) > 15
