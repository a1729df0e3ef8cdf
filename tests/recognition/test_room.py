"""A model that doesn't fit into memory is refused before it is loaded."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from voicelog.errors import ModelUnfit
from voicelog.recognition.models.room import check_room, find_available_bytes


@pytest.fixture
def large_model(tmp_path: Path) -> Path:
    """A model of 1.8 GB, as far as its files tell; they take no room on the disk."""
    folder = tmp_path / "vosk-model-en-us-0.22"
    (folder / "am").mkdir(parents=True)
    with (folder / "am/final.mdl").open("wb") as file:
        file.truncate(1_800_000_000)
    return folder


def test_a_large_model_on_a_small_machine_is_said(large_model: Path) -> None:
    with pytest.raises(
        ModelUnfit,
        match=r"/vosk-model-en-us-0\.22 needs about 4\.5 GB of memory and 2\.0 GB are free; close",
    ):
        check_room(large_model, available_bytes=2_000_000_000)


@pytest.mark.parametrize("available", [4_500_000_000, 16_000_000_000])
def test_where_there_is_room_nothing_is_said(large_model: Path, available: int) -> None:
    check_room(large_model, available_bytes=available)


def test_linux_says_how_much_is_available(tmp_path: Path) -> None:
    """As its kernel writes it (proc(5)); kB are kibibytes there."""
    meminfo = tmp_path / "meminfo"
    meminfo.write_text("MemTotal:  4045132 kB\nMemFree: 100 kB\nMemAvailable:  2000000 kB\n")
    assert find_available_bytes(meminfo=meminfo, status=tmp_path / "none") == 2_048_000_000


def test_where_nobody_says_nothing_is_refused(tmp_path: Path) -> None:
    nowhere = tmp_path / "none"
    assert find_available_bytes(meminfo=nowhere, status=nowhere) is None


_PROGRAM = """
import resource
from voicelog.errors import ModelUnfit
from voicelog.recognition.engines.whisper import WhisperRecogniser
pages = int(open("/proc/self/statm").read().split()[0])
limit = pages * resource.getpagesize() + 100_000_000
resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
try:
    WhisperRecogniser()
except ModelUnfit as failure:
    print(failure)
"""


def test_under_a_real_limit_the_embedded_model_is_refused_in_one_sentence() -> None:
    """100 MB are left to a process of its own; loading would need about twice that."""
    done = subprocess.run(
        [sys.executable, "-c", _PROGRAM], check=True, capture_output=True, text=True, timeout=120
    )
    assert "needs about 0.2 GB of memory and 0.1 GB are free; close other" in done.stdout
