"""How long `voicelog --help` takes: the promise is under 0.4 s.

    python tests/benchmarks/start_up.py [COMMAND...]

Runs it several times in a fresh process and prints the median and the slowest. Without
COMMAND the voicelog of this interpreter is measured.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

RUNS = 15
PROMISE_S = 0.4


def main() -> int:
    """Measure, print, and end with 1 when the promise is broken."""
    command = sys.argv[1:] or [sys.executable, "-m", "voicelog", "--help"]
    times_s = []
    for _ in range(RUNS):
        began_s = time.perf_counter()
        subprocess.run(
            command,
            check=True,
            stdout=subprocess.DEVNULL,
            cwd=Path(__file__).parents[2],
        )
        times_s.append(time.perf_counter() - began_s)
    median_s = statistics.median(times_s)
    print(f"median {median_s:.3f} s, slowest {max(times_s):.3f} s over {RUNS} runs")
    return 0 if median_s < PROMISE_S else 1


if __name__ == "__main__":
    sys.exit(main())
