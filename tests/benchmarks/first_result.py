"""How long a newcomer waits: from nothing to the first rows, and to the end of the demo.

    python tests/benchmarks/first_result.py

Clones this repository, installs it into a fresh environment, reads two typed notes, and runs
the demo; prints the seconds of each step and the machine's load. The packages come from
wherever pip is told to take them from.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
NOTES = "leaf three\na postcard, photo corners, lifting\n"


def main() -> int:
    """Do it all in a passing folder."""
    with tempfile.TemporaryDirectory(prefix="first-result-") as temporary:
        clone = Path(temporary) / "clone"
        bin_ = clone / ".venv" / "bin"
        steps = {
            "clone": ["git", "clone", "--quiet", str(ROOT), str(clone)],
            "environment": [sys.executable, "-m", "venv", str(clone / ".venv")],
            "install": [str(bin_ / "pip"), "--quiet", "install", str(clone)],
            "first rows": [str(bin_ / "voicelog"), "parse", "-"],
            "demo": [str(bin_ / "voicelog"), "demo", "--out", str(Path(temporary) / "demo")],
        }
        # Nothing of ours may come from elsewhere.
        environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
        in_all_s = 0.0
        for name, command in steps.items():
            began_s = time.perf_counter()
            subprocess.run(
                command,
                check=True,
                cwd=temporary,
                env=environment,
                input=NOTES,
                text=True,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            took_s = time.perf_counter() - began_s
            in_all_s += took_s
            print(f"{name:<12} {took_s:6.0f} s   {in_all_s:6.0f} s in all")
        print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    return 0


if __name__ == "__main__":
    sys.exit(main())
