"""A command of voicelog's, run in a process of its own and weighed: time and most memory."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

# What the kernel hands to whoever waits is no less than what the waiting process held when it
# started the other one; the mark in /proc belongs to the process alone.
# https://man7.org/linux/man-pages/man5/proc_pid_status.5.html, "VmHWM"
_RUN = """
import sys
from pathlib import Path
from voicelog.cli import main
try:
    main()
finally:
    lines = Path("/proc/self/status").read_text().splitlines()
    print([line for line in lines if line.startswith("VmHWM")][0], file=sys.stderr)
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """What a command took.

    Attributes:
        status: its exit status.
        took_s: seconds by the clock.
        processor_s: seconds of the processor.
        most_kib: the most memory that it held, in KiB.
    """

    status: int
    took_s: float
    processor_s: float
    most_kib: int


def weigh(arguments: Sequence[str], *, environment: Mapping[str, str] | None = None) -> Weighed:
    """Run a command with its arguments; what it prints is dropped."""
    began_s = time.monotonic()
    process = subprocess.Popen(
        [sys.executable, "-c", _RUN, *arguments],
        env={**os.environ, **(environment or {})},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    said = process.stderr.read() if process.stderr else ""
    _, status, usage = os.wait4(process.pid, 0)
    return Weighed(
        status=os.waitstatus_to_exitcode(status),
        took_s=time.monotonic() - began_s,
        processor_s=usage.ru_utime + usage.ru_stime,
        most_kib=int(said.rpartition("VmHWM:")[2].split()[0]),
    )
