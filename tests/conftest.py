"""What every test may count on: no settings, no log and no terminal of the machine's own."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# A busy machine is no failing example.
settings.register_profile("without deadline", deadline=None)
settings.load_profile("without deadline")


@pytest.fixture(autouse=True)
def _clean_surroundings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for variable in list(os.environ):
        if variable.startswith("VOICELOG_"):
            monkeypatch.delenv(variable)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


# Scripts that people run by hand, with packages that the tests do without.
collect_ignore = [
    "benchmarks/model/objective.py",
    "benchmarks/reader/heard_sessions.py",
    "fuzz/fuzz_files.py",
    "fuzz/fuzz_reader.py",
    "recognition/sounds/make_sounds.py",
]
