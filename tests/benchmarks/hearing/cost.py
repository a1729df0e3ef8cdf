"""What each engine costs: memory, the time to load, and how long after a note its words are there.

    python -m tests.benchmarks.hearing.cost [--notes 20]

Each engine has a process of its own. The notes are the recordings of the tests.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence

from tests.benchmarks.hearing.engines import ENGINES
from tests.recognition.recordings import SPOKEN_NOTES
from voicelog.recognition.segments import iter_segments
from voicelog.vocabulary import load_vocabulary


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a Markdown table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--notes", type=int, default=20)
    parser.add_argument("--engine", choices=list(ENGINES), help="this one, in this process")
    given = parser.parse_args(arguments)
    if given.engine:
        print(measure(given.engine, given.notes))
        return
    print(
        "| engine | notes | loading, s | after a note, s: median | most | × real time "
        "| processor, × real time | memory, MB |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for engine in ENGINES:
        command = [sys.executable, "-m", __spec__.name, "--engine", engine]
        subprocess.run([*command, "--notes", str(given.notes)], check=True)


def measure(engine: str, notes: int) -> str:
    """Return a row about an engine that is loaded into this process."""
    began_s = time.perf_counter()
    ear = ENGINES[engine](load_vocabulary().hot_words, None)
    loading_s = time.perf_counter() - began_s
    segments = list(iter_segments(SPOKEN_NOTES))
    chosen = [segments[index % len(segments)] for index in range(notes)]
    took_s: list[float] = []
    used_s = time.process_time()
    for segment in chosen:
        began_s = time.perf_counter()
        ear.recognise(segment)
        took_s.append(time.perf_counter() - began_s)
    used_s = time.process_time() - used_s
    spoken_s = sum(segment.end_s - segment.start_s for segment in chosen)
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"| {engine} | {len(chosen)} | {loading_s:.1f} | {statistics.median(took_s):.2f} "
        f"| {max(took_s):.2f} | {sum(took_s) / spoken_s:.2f} | {used_s / spoken_s:.2f} "
        f"| {memory_mb:.0f} |"
    )


if __name__ == "__main__":
    main()
