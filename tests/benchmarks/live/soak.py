"""Eight hours at the bench, faster than they would pass: memory, queue, notes lost and doubled.

    python -m tests.benchmarks.live.soak [--recogniser vosk|scripted] [--hours 8]
        [--notes 3000] [--speed 24]

Spoken notes from the demo recordings, pauses and noises of a room go through the whole
session: recorder, detector, recogniser, reader, log. With ``vosk`` the recogniser is the
small model in ``models/``. With ``scripted`` it is a double that knows
seven sounds; then the texts in the log are compared with those said as well. Whisper is
too slow to hear a day in less than a day on two shared cores.

Ends with 1 where a note was lost or doubled, where sound is missing, or where memory grew
by 50 MB or more after the first hour.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.session.live.bench import DEMO, spoken_sounds
from tests.session.live.bench_day import (
    BenchDay,
    BySound,
    HurriedClock,
    HurriedSource,
    account_for,
    is_kept_whole,
)
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Heard, Recogniser, Samples, Segment
from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.session.live.desk import Desk
from voicelog.session.live.loop import LiveSession
from voicelog.session.live.loudspeaker import Speaking
from voicelog.session.live.options import LiveOptions, LiveWatcher, Outcome
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.session_files import Machine
from voicelog.session.live.sounds import Sound
from voicelog.session.live.view import View
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.wiring.bench import open_bench
from voicelog.wiring.hearing import make_recogniser
from voicelog.wiring.reading import make_vocabulary

TEXTS = (
    "next leaf",
    "turn over",
    "a postcard, photo corners, lifting",
    "two snapshots, paste, secure",
    "caption reads the lamplighters at the weir",
    "measures four and a quarter by six inches",
    "dated june fourth nineteen fifty two",
)
MOST_GROWTH_MB = 50.0
WARM_UP_S = 3600.0
_LOOK_S = 60.0


class Silent:
    """A sound card that plays nothing."""

    def play(self, sound: Sound) -> None:
        del sound


class Counted:
    """A recogniser that counts what it heard nothing in."""

    def __init__(self, recogniser: Recogniser) -> None:
        self.engine, self.model = recogniser.engine, recogniser.model
        self.empty = 0
        self.working_s = 0.0
        self._recogniser = recogniser

    def recognise(self, segment: Segment) -> Heard:
        began = time.monotonic()
        heard = self._recogniser.recognise(segment)
        self.working_s += time.monotonic() - began
        self.empty += not heard.text
        return heard


@dataclass(slots=True, kw_only=True)
class Watch:
    """Looks at memory and queue as the day goes by."""

    clock: HurriedClock
    memory_mb: list[tuple[float, float]] = field(default_factory=list)
    most_waiting: int = 0

    def show(self, view: View) -> None:
        self.most_waiting = max(self.most_waiting, view.waiting)
        at_s = self.clock.seconds()
        if not self.memory_mb or at_s - self.memory_mb[-1][0] >= _LOOK_S:
            self.memory_mb.append((at_s, read_memory_mb()))

    @property
    def growth_mb(self) -> float:
        """By how much the memory grew at most after the warm-up."""
        warm = [mb for at_s, mb in self.memory_mb if at_s >= WARM_UP_S]
        return max(warm) - warm[0] if warm else 0.0


def read_memory_mb() -> float:
    """Return how much memory of the machine this process holds."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def demo_sounds() -> tuple[Samples, ...]:
    """Return every note of the demo recordings."""
    recordings = sorted(DEMO.parent.glob("*.flac"))
    return tuple(segment.samples for path in recordings for segment in iter_segments(path))


def work_through(
    day: BenchDay, folder: Path, recogniser: Recogniser, watch: Watch
) -> tuple[Outcome, float]:
    """Let the day pass; return what came of it and how long it took, in real seconds."""
    settings = read_settings(environment={})
    with open_bench(folder, settings) as bench:
        session = LiveSession(
            Desk(bench.scribe, bench.logbook, bench.reader),
            HurriedSource(day, watch.clock),
            lambda: recogniser,
            options=LiveOptions(
                segments=SegmentOptions(),
                recorder=RecorderOptions(),
                speaking=Speaking(player=Silent(), voice=None),
            ),
            watcher=LiveWatcher(show=watch.show, say=print),
            machine=Machine(clocks=watch.clock.as_clocks()),
        )
        began = time.monotonic()
        outcome = session.run()
        return outcome, time.monotonic() - began


def report(day: BenchDay, folder: Path, *, texts: Sequence[str] | None) -> bool:
    """Print what became of the notes; return whether all is well."""
    with Log.open(folder) as log:
        account = account_for(day, log)
        entries, files = log.count_entries(), sum(1 for _ in log.iter_recordings())
        unfinished = sum(not recording.finished_at for recording in log.iter_recordings())
    whole = is_kept_whole(day, folder / "audio")
    said = len(day.said)
    print(f"notes said {said}, in the log {len(account.texts)}, entries {entries}")
    print(f"lost {len(account.lost)}, doubled {len(account.doubled)}, ", end="")
    print(f"where nothing was said {len(account.invented)}")
    print(f"sound kept sample for sample: {whole}; {files} files, {unfinished} unfinished")
    well = whole and not (account.lost or account.doubled or account.invented or unfinished)
    if texts is not None:
        as_said = [texts[spoken.sound] for spoken in day.said] == list(account.texts)
        print(f"texts as said, in their order: {as_said}")
        well = well and as_said
    return well


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--recogniser", choices=("vosk", "scripted"), default="vosk")
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--notes", type=int, default=3_000)
    parser.add_argument("--speed", type=float, default=24.0)
    wanted = parser.parse_args()
    is_scripted = wanted.recogniser == "scripted"
    sounds = spoken_sounds() if is_scripted else demo_sounds()
    day = BenchDay(sounds, notes=wanted.notes, hours=wanted.hours, seed=7)
    engine = BySound(sounds, TEXTS) if is_scripted else _make_vosk()
    recogniser = Counted(engine)
    watch = Watch(clock=HurriedClock(wanted.speed))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "log"
        outcome, took_s = work_through(day, folder, recogniser, watch)
        day_s = day.samples / SAMPLE_RATE_HZ
        print(f"{day_s / 3600:.2f} h of bench time in {took_s / 60:.1f} min, {recogniser.engine}")
        print(f"recogniser at work {recogniser.working_s / 60:.1f} min; heard nothing in ", end="")
        print(f"{recogniser.empty} stretches; {outcome.unread} notes not understood")
        print(f"most notes waiting {watch.most_waiting}")
        for at_s, mb in watch.memory_mb[:: max(1, len(watch.memory_mb) // 9)]:
            print(f"  after {at_s / 3600:5.2f} h: {mb:.0f} MB")
        print(f"memory grew by {watch.growth_mb:.1f} MB after the first hour")
        well = report(day, folder, texts=TEXTS if is_scripted else None)
    return 0 if well and watch.growth_mb < MOST_GROWTH_MB else 1


def _make_vosk() -> Recogniser:
    settings = read_settings(environment={}, overrides={"engine": "vosk"})
    return make_recogniser(settings, make_vocabulary(settings))


if __name__ == "__main__":
    sys.exit(main())
