"""A full disk, a read-only disk, an interruption: the old file stays, and no half one is left."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from tests.exports.demo import demo_entries
from tests.exports.logs import make_log
from voicelog.exports.formats import FORMATS

ROOT = Path(__file__).parents[2]
FORMAT_NAMES = [each.name for each in FORMATS]

# Writes a log in every format onto a disk that is too small, after putting an older export there.
FILL = """
import json, sys
from pathlib import Path
from tests.exports.logs import write
from voicelog.errors import VoicelogError

log, small = Path(sys.argv[1]), Path(sys.argv[2])
for name in sys.argv[3:]:
    target = small / name
    if name not in {"dc", "iiif", "bag"}:
        target.write_text("the older export")
    try:
        write(name, log, target)
        told = "no failure"
    except VoicelogError as failure:
        told = str(failure)
    kept = target.read_bytes()[:18].decode("latin-1") if target.is_file() else ""
    left = sorted(path.name for path in small.iterdir() if path.name != "ballast")
    print(json.dumps([name, type(told).__name__, told, kept, left]))
    if target.is_file():
        target.unlink()
"""
DIE = """
import os, sys
from pathlib import Path
from tests.exports.logs import consign
from voicelog.exports.formats import choose_format
from voicelog.exports.handing_over import hand_over
from voicelog.exports.target import Unfinished
from voicelog.store.log import Log

def die(self):
    assert self.path.exists()
    os.kill(os.getpid(), int(sys.argv[1]))

Unfinished.seal = die
try:
    with Log.open(Path(sys.argv[3])) as log:
        format_ = choose_format(sys.argv[2])
        hand_over(consign(log), format_, Path(sys.argv[4]), made_by="voicelog test")
except KeyboardInterrupt:
    sys.exit(130)
"""


@pytest.fixture(scope="module")
def large_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Some hundred entries in many volumes: more than a small disk holds, in any format."""
    dice = random.Random("no compression makes this small")
    entries = [
        replace(
            one,
            id=f"{one.id}-{nth}",
            volume=f"{one.volume}.{nth}",
            remark=dice.randbytes(400).hex(),
        )
        for nth in range(15)
        for one in demo_entries()
    ]
    return make_log(tmp_path_factory.mktemp("large") / "log", *entries)


def run_python(*arguments: str, before: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, *arguments]
    if before:
        quoted = " ".join(f"'{argument}'" for argument in command)
        command = [str(shutil.which("unshare")), "-Urm", "bash", "-ec", f"{before}\n{quoted}"]
    return subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def require_own_disks() -> None:
    unshare = shutil.which("unshare")
    if not unshare or subprocess.run([unshare, "-Urm", "true"], check=False).returncode:
        pytest.skip("this machine lets nobody mount a small disk")


def test_a_full_disk_leaves_the_older_export_and_nothing_else(
    tmp_path: Path, large_log: Path
) -> None:
    """In every format, whatever library writes it, and said in one sentence."""
    require_own_disks()
    small = tmp_path / "small"
    small.mkdir()
    script = tmp_path / "fill.py"
    script.write_text(FILL)
    mount = f"mount -t tmpfs -o size=100k tmpfs {small}"
    ended = run_python(str(script), str(large_log), str(small), *FORMAT_NAMES, before=mount)
    assert ended.returncode == 0, ended.stderr
    for line in ended.stdout.splitlines():
        name, _, told, kept, left = json.loads(line)
        assert "No room is left on the disk" in told, (name, told)
        is_folder = name in {"dc", "iiif", "bag"}
        assert kept == ("" if is_folder else "the older export"), name
        assert left == ([] if is_folder else [name]), name
    assert len(ended.stdout.splitlines()) == len(FORMAT_NAMES)


def test_a_disk_that_can_not_be_written_is_told_in_one_sentence(
    tmp_path: Path, large_log: Path
) -> None:
    """Before anything else happens."""
    require_own_disks()
    small = tmp_path / "small"
    small.mkdir()
    script = tmp_path / "fill.py"
    script.write_text(FILL.replace('target.write_text("the older export")', "pass"))
    mount = f"mount -t tmpfs -o ro tmpfs {small}"
    ended = run_python(str(script), str(large_log), str(small), "csv", "dc", before=mount)
    assert ended.returncode == 0, ended.stderr
    for line in ended.stdout.splitlines():
        name, _, told, _, left = json.loads(line)
        assert "read-only file system" in told, name
        assert left == []


@pytest.mark.parametrize(
    ("format_name", "number"), [("csv", signal.SIGKILL), ("dc", signal.SIGINT)]
)
def test_an_interrupted_export_leaves_no_half_file(
    tmp_path: Path, large_log: Path, format_name: str, number: signal.Signals
) -> None:
    """Stopped when all was written but nothing named; only a kill leaves a file with no name."""
    target = tmp_path / "entries"
    arguments = (str(int(number)), format_name, str(large_log), str(target))
    ended = run_python("-c", DIE, *arguments)
    assert ended.returncode in {130, -number}
    assert "Traceback" not in ended.stderr
    assert not target.exists()
    left = [path.name for path in tmp_path.iterdir()]
    assert all(name.startswith(".unfinished-") for name in left)
    if number is signal.SIGINT:
        assert left == []
