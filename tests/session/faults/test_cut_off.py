"""Work that is cut off, by a kill or by a full disk, loses nothing and does nothing twice.

The short form of ``tests/benchmarks/faults``: kills.py and full_disk.py. What `listen` loses is in
tests/session/live/test_faults.py.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.session.live.bench import ROOT
from tests.session.live.conftest import do_without


def run(*command: object) -> list[str]:
    """Run one of the long forms for a short while, and return what it says of each work."""
    done = subprocess.run(
        [str(part) for part in command],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr[-3_000:]
    return done.stdout.splitlines()


def test_a_kill_at_any_instant() -> None:
    """Of transcribe, review and bring-in; most of them come while there is something to lose."""
    module = "tests.benchmarks.faults.kills"
    only = ("--only", "transcribe", "review", "bring-in")
    told = run(sys.executable, "-m", module, "--each", 2, "--seed", 1_000, *only)
    assert [line.split()[0] for line in told] == ["transcribe", "review", "bring-in"]
    cut = [int(re.search(r"(\d+) of them before", line)[1]) for line in told]  # type: ignore[index]
    assert sum(cut) >= 2


def test_a_disk_that_is_full_at_any_write(tmp_path: Path) -> None:
    """Of the same and of backup and export: one sentence, and with room again it goes on."""
    unshare = ("unshare", "--mount", "--map-root-user")
    if shutil.which("unshare") is None:
        do_without("no unshare (util-linux) here")
    if subprocess.call(
        (*unshare, "mount", "-t", "tmpfs", "small", "/mnt"), stderr=subprocess.DEVNULL
    ):
        pytest.skip("the kernel of this machine lets nobody mount a small file system")
    module = "tests.benchmarks.faults.full_disk"
    script = f'mount -t tmpfs -o size=64m small "$1" && exec "$2" -m {module} "$1" --times 2'
    told = run(*unshare, "sh", "-c", script, "sh", tmp_path, sys.executable)
    names = ["transcribe", "review", "bring-in", "backup", "export"]
    assert [line.split()[0] for line in told] == names
