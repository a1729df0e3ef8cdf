"""Whether a model fits into this machine's memory, found out before it is loaded.

A machine that runs out of memory ends some program, and not always the one that took it.
"""

from __future__ import annotations

import resource
from pathlib import Path

from voicelog.errors import ModelUnfit

_NEEDED_PER_BYTE = 2.5
"""Memory for each byte on the disk. Measured: tiny.en takes 2.4 (with the most that hearing half a
minute takes), vosk-bench 2.2; larger models of the same kinds are taken to be no better."""

_MEMINFO = Path("/proc/meminfo")
_OWN_STATUS = Path("/proc/self/status")


def check_room(folder: Path, *, available_bytes: int | None = None) -> None:
    """Make sure that the model in a folder fits into memory.

    Args:
        folder: the model's folder.
        available_bytes: how much memory there is for it; None to ask the machine.

    Raises:
        ModelUnfit: it is too large.
    """
    available = find_available_bytes() if available_bytes is None else available_bytes
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    needed = round(size * _NEEDED_PER_BYTE)
    if available is not None and needed > available:
        raise ModelUnfit(
            f"The model at {folder} needs about {needed / 1e9:.1f} GB of memory and "
            f"{available / 1e9:.1f} GB are free; close other programs, or use a smaller model."
        )


def find_available_bytes(*, meminfo: Path = _MEMINFO, status: Path = _OWN_STATUS) -> int | None:
    """Return how much memory a program can still have here, or None where nobody says.

    The less of what Linux takes to be available and what is left of the limit that was set for
    this process (``ulimit -v``).
    """
    free = _read_kilobytes(meminfo, "MemAvailable")
    limit, _ = resource.getrlimit(resource.RLIMIT_AS)
    taken = _read_kilobytes(status, "VmSize")
    if limit != resource.RLIM_INFINITY and taken is not None:
        left = max(0, limit - taken)
        return left if free is None else min(free, left)
    return free


def _read_kilobytes(path: Path, name: str) -> int | None:
    try:
        lines = path.read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    for line in lines:
        key, _, value = line.partition(":")
        if key == name:
            return int(value.split()[0]) * 1024
    return None
