"""How much sound is lost by a kill and by a power cut, over many of them.

    python -m tests.benchmarks.live.faults [--kills 200] [--power-cuts 100]

Each session ends at a random instant (seeded). First recorders alone, in real time, whose
remains are checked as in tests/session/live/test_recovery.py; then whole sessions, from the
microphone to the log, some twenty times faster, started again and checked as in
tests/session/live/test_faults.py. The first file, sample or note that is wrong stops it.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
from pathlib import Path

from tests.session.live.doomed_session import make_reader
from tests.session.live.dooming import RATE_HZ, read_tally
from tests.session.live.surviving import check_what_survived, cut_power, let_recorders_die
from tests.session.live.survivors import describe, let_sessions_die, start_again
from voicelog.store.folder import is_log_folder
from voicelog.store.log import Log

BY_KILL, BY_POWER = "kill", "power"


def count_notes(folder: Path) -> int:
    """Return how many notes a log holds, where the session came as far as a log."""
    if not is_log_folder(folder):
        return 0
    with Log.open(folder) as log:
        return log.count_notes()


def measure_recorders(how: str, seeds: range) -> None:
    """Let one recorder die for each seed and print what was lost."""
    with tempfile.TemporaryDirectory() as name:
        folder = let_recorders_die(Path(name), seeds, how)
        if how == BY_POWER:
            for seed in seeds:
                cut_power(folder / str(seed), headers_made_it=seed % 2 == 0)
        lost_s = [check_what_survived(folder / str(seed), seed) for seed in seeds]
        tallies = [read_tally(folder / str(seed)) for seed in seeds]
        kept = sum(count_notes(folder / str(seed) / "log") for seed in seeds)
        files = sum(1 for _ in folder.glob("*/log/audio/*.wav"))
    said_s = sum(tally.said for tally in tallies) / RATE_HZ
    notes = sum(tally.notes for tally in tallies)
    print(
        f"recorder, {how:6} {len(seeds):4} sessions, {said_s:6.1f} s said, {files:5} files; "
        f"lost at most {max(lost_s):.3f} s, on average {statistics.fmean(lost_s):.3f} s; "
        f"{notes} notes taken down, {kept} in the logs"
    )


def measure_sessions(how: str, seeds: range) -> None:
    """Let one whole session die for each seed, start again, and print what was lost."""
    reader = make_reader()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        let_sessions_die(folder, seeds, how)
        if how == BY_POWER:
            for seed in seeds:
                cut_power(folder / str(seed), headers_made_it=seed % 2 == 0)
        survivals = [start_again(folder / str(seed), seed, reader) for seed in seeds]
    print(f"session,  {how:6} {describe(survivals)}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--power-cuts", type=int, default=100)
    wanted = parser.parse_args()
    for measure in (measure_recorders, measure_sessions):
        measure(BY_KILL, range(10_000, 10_000 + wanted.kills))
        measure(BY_POWER, range(20_000, 20_000 + wanted.power_cuts))


if __name__ == "__main__":
    main()
