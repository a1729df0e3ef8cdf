"""How many recordings a machine can hear at once."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from voicelog.session.bulk.room import (
    count_cores,
    count_jobs,
    count_worthwhile,
    free_memory_bytes,
)

GIB = 1 << 30
MODEL_BYTES = 78_000_000  # the embedded one


@pytest.mark.parametrize(
    ("limit", "most"),
    [("150000 100000", 2), ("50000 100000", 1), ("max 100000", None), ("", None)],
)
def test_no_more_cores_than_the_control_group_allows(
    tmp_path: Path, limit: str, most: int | None
) -> None:
    """A container of one and a half cores has work for two processes."""
    (tmp_path / "cpu.max").write_text(f"{limit}\n")
    allowed = len(os.sched_getaffinity(0))
    assert count_cores(control_group=tmp_path) == min(allowed, most or allowed)


def test_memory_is_what_the_machine_and_the_control_group_leave(tmp_path: Path) -> None:
    """The smaller of both counts; where the kernel says nothing, nothing is known."""
    information = tmp_path / "meminfo"
    assert free_memory_bytes(control_group=tmp_path, memory_information=information) is None
    information.write_text("MemTotal:  32000000 kB\nMemAvailable:  8388608 kB\n")
    assert free_memory_bytes(control_group=tmp_path, memory_information=information) == 8 * GIB
    (tmp_path / "memory.max").write_text("max\n")
    (tmp_path / "memory.current").write_text(f"{GIB}\n")
    assert free_memory_bytes(control_group=tmp_path, memory_information=information) == 8 * GIB
    (tmp_path / "memory.max").write_text(f"{4 * GIB}\n")
    assert free_memory_bytes(control_group=tmp_path, memory_information=information) == 3 * GIB


@pytest.mark.parametrize(
    ("cores", "free_bytes", "jobs"),
    [
        (8, 64 * GIB, 8),
        (8, None, 8),
        (8, 2 * GIB, 2),
        (8, GIB // 4, 1),
        (1, 64 * GIB, 1),
    ],
)
def test_memory_decides_where_there_is_little_of_it(
    cores: int, free_bytes: int | None, jobs: int
) -> None:
    """Every process loads a model of its own; there is always room for one."""
    assert count_jobs(cores=cores, free_bytes=free_bytes, model_bytes=MODEL_BYTES) == jobs


@pytest.mark.parametrize(
    ("sounds_s", "jobs"),
    [([10.0, 10.0], 1), ([3600.0], 1), ([60.0, 60.0, 60.0], 3), ([5.0] * 600, 50), ([], 1)],
)
def test_a_process_is_started_for_a_minute_of_sound(sounds_s: list[float], jobs: int) -> None:
    """Two short recordings are heard sooner than a second process has started."""
    assert count_worthwhile(sounds_s) == jobs
