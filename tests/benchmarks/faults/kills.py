"""Kill -9 at random instants of transcribe, review, bring-in and listen.

    python -m tests.benchmarks.faults.kills [--each 100] [--seed 0] [--only NAME...]

Each kill is decided by its seed. Afterwards the database must be in order, every recording must
be known and whole, what was reported must be there, and the same command again must lead to the
same log as if nothing had happened. The first kill that leaves anything else stops it.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.session.faults.scaffold import cut_off_all
from tests.session.faults.works import KILLED
from tests.session.live.doomed_session import make_reader
from tests.session.live.survivors import describe, let_sessions_die, start_again

LISTEN = "listen"


def kill_listening(seeds: range, folder: Path) -> None:
    """Kill whole live sessions, start each again, and print what was lost of their sound."""
    reader = make_reader()
    folder.mkdir()
    let_sessions_die(folder, seeds, "kill")
    survivals = [start_again(folder / str(seed), seed, reader) for seed in seeds]
    print(f"{LISTEN:11} {describe(survivals)}; nothing lost that was saved, nothing twice")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--each", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0)
    names = [work.name for work in KILLED]
    parser.add_argument("--only", nargs="+", choices=[*names, LISTEN], default=[*names, LISTEN])
    wanted = parser.parse_args()
    seeds = range(wanted.seed, wanted.seed + wanted.each)
    with tempfile.TemporaryDirectory() as name:
        cut_off_all(
            [work for work in KILLED if work.name in wanted.only],
            Path(name),
            lambda scaffold: [scaffold.kill(seed) for seed in seeds],
        )
        if LISTEN in wanted.only:
            kill_listening(seeds, Path(name) / LISTEN)


if __name__ == "__main__":
    main()
