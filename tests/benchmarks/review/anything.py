"""Notes and acts of review in any order, for as long as one likes.

``python -m tests.benchmarks.review.anything [SEEDS] [STEPS]`` runs what
``tests/review/test_replay.py`` runs a few times: after whatever was said and done, a replay
gives the same log, and more notes take nothing back that a person decided.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

from tests.review.desk import Desk
from tests.review.test_replay import check_anything
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary


def main() -> None:
    """Run and print; the first failure names its seed."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    steps = int(sys.argv[2]) if len(sys.argv) > 2 else 12
    reader = Reader(load_vocabulary(), ReadingOptions())
    for seed in range(seeds):
        chance = random.Random(seed)
        with tempfile.TemporaryDirectory() as name:
            try:
                check_anything(Desk(Path(name) / "log", reader), chance.choice, steps=steps)
            except Exception:
                print(f"seed {seed} failed")
                raise
    print(f"{seeds} logs of {steps} steps: nothing decided was lost")


if __name__ == "__main__":
    main()
