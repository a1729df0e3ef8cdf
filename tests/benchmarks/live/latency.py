"""How long after a note its row is there, with recorded speech fed in real time.

    python -m tests.benchmarks.live.latency [RECORDING...] [--engine both|whisper|vosk]
        [--threads N]

Counted from the moment at which the pause that ends a note has run out (the setting
``pause_ms`` after its last speech) to the moment at which the row is stored and handed to
the screen. Beside it stands the bare engine: the same notes, given to the same recogniser
one by one with nothing else going on. Without a recording, the demo recordings are played:
five minutes and a half.
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
from pathlib import Path

from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.session.live.desk import Desk
from voicelog.session.live.loop import LiveSession
from voicelog.session.live.options import LiveWatcher
from voicelog.session.live.sounds import Sound
from voicelog.session.live.sources import FileSource
from voicelog.settings import read_settings
from voicelog.wiring.bench import open_bench
from voicelog.wiring.hearing import make_recogniser
from voicelog.wiring.live import make_live_options

DEMO = sorted((Path(__file__).parents[3] / "demo_data" / "recordings").glob("*.flac"))


class Earphone:
    """Takes as long as a sound card would, and is as silent as this machine."""

    def play(self, sound: Sound) -> None:
        time.sleep(sound.duration_s)


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the time from pause to row.")
    parser.add_argument("recordings", nargs="*", type=Path, default=DEMO)
    parser.add_argument("--engine", choices=("both", "whisper", "vosk"), default="both")
    parser.add_argument("--threads", type=int, default=2)
    wanted = parser.parse_args()
    settings = read_settings(
        environment={},
        # Without the voice, which is that of the demo recordings and would be taken for them.
        overrides={"engine": wanted.engine, "threads": wanted.threads, "voice": False},
    )
    waits: list[float] = []
    in_vain = 0
    with tempfile.TemporaryDirectory() as folder:
        with open_bench(Path(folder) / "log", settings) as bench:
            recogniser = make_recogniser(settings, bench.vocabulary)
            for recording in wanted.recordings:
                with FileSource(recording) as source:
                    session = LiveSession(
                        Desk(bench.scribe, bench.logbook, bench.reader),
                        source,
                        lambda: recogniser,
                        options=make_live_options(settings, Earphone()),
                        watcher=LiveWatcher(
                            taken=lambda _taken, after_s: waits.append(after_s or 0.0)
                        ),
                    )
                    session.run()
                    in_vain += session.decoded_in_vain
        bare: list[float] = []
        for recording in wanted.recordings:
            for segment in iter_segments(recording, SegmentOptions()):
                began = time.perf_counter()
                recogniser.recognise(segment)
                bare.append(time.perf_counter() - began)
    report("row after the pause", waits)
    report(f"bare {wanted.engine}", bare)
    ratio = statistics.median(waits) / statistics.median(bare)
    print(f"ratio of the medians {ratio:.2f}; decoded in vain {in_vain} of {len(bare)}")
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


def report(what: str, seconds: list[float]) -> None:
    ordered = sorted(seconds)
    late = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    print(
        f"{what:20} {len(ordered):3} notes: median {statistics.median(ordered):.2f} s, "
        f"95th percentile {late:.2f} s, longest {ordered[-1]:.2f} s"
    )


if __name__ == "__main__":
    main()
