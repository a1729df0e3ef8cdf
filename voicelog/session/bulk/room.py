"""How many recordings this machine can hear at once."""

from __future__ import annotations

import os
from pathlib import Path

CONTROL_GROUP = Path("/sys/fs/cgroup")
MEMORY_INFORMATION = Path("/proc/meminfo")

_MIB = 1 << 20
_PROCESS_BYTES = 300 * _MIB
"""A hearing process without its models, with the reader that joins two of them."""

_TIMES_MODEL = 3
"""What a loaded model takes, in sizes of its files."""

_LEFT_ALONE_BYTES = 512 * _MIB
_WORTH_A_PROCESS_S = 60.0
"""Starting a process takes about as long as hearing ten seconds; a minute is worth it."""


def count_cores(*, control_group: Path = CONTROL_GROUP) -> int:
    """Return how many processor cores this process may really use.

    A container or a batch system may allow fewer than the machine has: by naming cores
    (``sched_getaffinity``) or by a share of time (``cpu.max`` of control group version 2:
    https://docs.kernel.org/admin-guide/cgroup-v2.html#cpu-interface-files).

    Args:
        control_group: where the kernel says what this process may use.
    """
    cores = len(os.sched_getaffinity(0))
    quota, _, period = _read(control_group / "cpu.max").partition(" ")
    if quota.isdecimal() and period.strip().isdecimal():
        cores = min(cores, -(-int(quota) // int(period)))
    return max(1, cores)


def free_memory_bytes(
    *, control_group: Path = CONTROL_GROUP, memory_information: Path = MEMORY_INFORMATION
) -> int | None:
    """Return how much memory can still be had, or None where the kernel doesn't say.

    Args:
        control_group: where the kernel says what this process may use.
        memory_information: where it says what the machine has.
    """
    free: list[int] = []
    for line in _read(memory_information).splitlines():
        name, _, rest = line.partition(":")
        if name == "MemAvailable":
            free.append(int(rest.split()[0]) * 1024)
    limit, used = (_read(control_group / name) for name in ("memory.max", "memory.current"))
    if limit.isdecimal() and used.isdecimal():
        free.append(max(0, int(limit) - int(used)))
    return min(free, default=None)


def count_jobs(*, cores: int, free_bytes: int | None, model_bytes: int) -> int:
    """Return how many processes there is room for, at least one.

    Args:
        cores: how many may be used.
        free_bytes: how much memory can be had, or None where that isn't known.
        model_bytes: the size of the recogniser's model on the disk.
    """
    if free_bytes is None:
        return cores
    each = _PROCESS_BYTES + _TIMES_MODEL * model_bytes
    return max(1, min(cores, (free_bytes - _LEFT_ALONE_BYTES) // each))


def count_worthwhile(sounds_s: list[float]) -> int:
    """Return how many processes are worth starting for recordings of these lengths."""
    return max(1, min(len(sounds_s), round(sum(sounds_s) / _WORTH_A_PROCESS_S)))


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="ascii").strip()
    except OSError:
        return ""
