"""Whole sessions that are killed: the parent of many short-lived benches.

Run as a program of its own, which forks a child for each seed. Each child works through a
day of its own, some twenty times faster than it would pass, through recorder, detector,
recogniser, reader and log, until SIGKILL comes at a random instant. What had been said and
taken down by then, it wrote into a mapped file, which survives it.
"""

from __future__ import annotations

import mmap
import os
import random
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.session.live.bench import spoken_sounds
from tests.session.live.bench_day import BenchDay, BySound, HurriedClock, HurriedSource
from tests.session.live.doomed_process import RATE_HZ, TALLY, ShadowDisk, read_tally
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.recognition.recogniser import Heard, Segment
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.live.desk import Desk, Taken
from voicelog.session.live.loop import LiveSession
from voicelog.session.live.loudspeaker import Speaking
from voicelog.session.live.options import LiveOptions, LiveWatcher
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.session_files import Machine
from voicelog.session.live.sounds import Sound
from voicelog.session.live.sources import Block
from voicelog.session.scribe import Scribe
from voicelog.settings import read_settings
from voicelog.store.writing import WritableLog
from voicelog.wiring.reading import make_reading_options, make_vocabulary

TEXTS = (
    "leaf two recto",
    "turn over",
    "a postcard, photo corners, lifting",
    "two snapshots, paste, secure",
    "caption reads the lamplighters at the weir",
    "measures four and a quarter by six inches",
    "next leaf",
)
_SPEED = 20.0
_LONGEST_S = 25.0
_AT_ONCE = 5
_NOTES, _HOURS = 40, 0.05


def make_day(seed: int) -> BenchDay:
    """Return what is said in the session of one seed."""
    return BenchDay(spoken_sounds(), notes=_NOTES, hours=_HOURS, seed=seed)


def make_reader() -> Reader:
    settings = read_settings(environment={})
    names = ("default_unit", "default_century", "day_first", "first_page")
    kept = {name: getattr(settings, name) for name in names}
    return Reader(make_vocabulary(settings), make_reading_options(settings, kept))


class Unreliable(BySound):
    """A recogniser that fails now and then, as a foreign library may."""

    def __init__(self, chance: random.Random) -> None:
        super().__init__(spoken_sounds(), TEXTS)
        self._chance = chance
        self._has_just_failed = False

    def recognise(self, segment: Segment) -> Heard:
        # Never twice in a row, since a note that fails twice is left to the next start.
        self._has_just_failed = not self._has_just_failed and self._chance.random() < 0.2
        if self._has_just_failed:
            raise MemoryError
        return super().recognise(segment)


class Silent:
    """A sound card that plays nothing."""

    def play(self, sound: Sound) -> None:
        del sound


@dataclass(slots=True, kw_only=True)
class Tallying:
    """Counts, in memory that survives the process, what was said and what was taken down."""

    tally: mmap.mmap
    said: int = 0
    notes: int = 0

    def say(self, block: Block | None) -> None:
        self.said += 0 if block is None else len(block.samples)
        self._write()

    def take(self, taken: Taken, after_s: float | None) -> None:
        del taken, after_s
        self.notes += 1
        self._write()

    def _write(self) -> None:
        self.tally[:] = TALLY.pack(self.said, self.notes)


class TalliedSource(HurriedSource):
    """A day's sound, each block counted before anybody gets it."""

    def __init__(self, day: BenchDay, clock: HurriedClock, tallying: Tallying) -> None:
        super().__init__(day, clock)
        self._tallying = tallying

    def read(self, timeout_s: float) -> Block | None:
        block = super().read(timeout_s)
        self._tallying.say(block)
        return block


def sit_down(place: Path, seed: int, reader: Reader, *, shadowed: bool) -> None:
    """Work through a day until the end of the world."""
    chance = random.Random(seed)
    with (place / "tally").open("r+b") as file:
        tallying = Tallying(tally=mmap.mmap(file.fileno(), TALLY.size))
    log = WritableLog.open_to_write(place / "log", made_by="a test")
    logbook = Logbook(reader)
    clock = HurriedClock(_SPEED)
    clocks = clock.as_clocks()
    recogniser = Unreliable(chance)
    LiveSession(
        Desk(Scribe(log, logbook), logbook, reader),
        TalliedSource(make_day(seed), clock, tallying),
        lambda: recogniser,
        options=LiveOptions(
            segments=SegmentOptions(),
            # Short files, so that many kills fall into the making and sealing of one; long
            # enough to end in a pause, since the double knows no half sounds.
            recorder=RecorderOptions(file_s=chance.choice([16.0, 20.0, 600.0])),
            speaking=Speaking(player=Silent(), voice=None),
        ),
        watcher=LiveWatcher(taken=tallying.take),
        machine=(
            Machine(clocks=clocks, sync=ShadowDisk(place / "shadow"))
            if shadowed
            else Machine(clocks=clocks)
        ),
    ).run()


class _Life:
    """One session's life: it ends some time after so much was said, or at its very start.

    Counted in what was said, so that a slow machine lets sessions come as far as a fast one.
    """

    def __init__(self, *, place: Path, seed: int) -> None:
        chance = random.Random(seed)
        is_short = seed % 8 == 0
        self._place = place
        self._lasts = 0 if is_short else round(chance.uniform(0.0, _LONGEST_S) * RATE_HZ)
        self._rest_s = chance.uniform(0.0, 0.4 if is_short else 0.05)
        self._spoken_at: float | None = None

    @property
    def is_over(self) -> bool:
        if self._spoken_at is None and read_tally(self._place).said >= self._lasts:
            self._spoken_at = time.monotonic()
        return self._spoken_at is not None and time.monotonic() - self._spoken_at >= self._rest_s


def main(folder: Path, seeds: range, *, shadowed: bool) -> None:
    """Let one child sit down for each seed, and kill it."""
    reader = make_reader()
    # Made here once, the speech detector too, and not in every child.
    spoken_sounds()
    waiting = list(seeds)
    living: dict[int, _Life] = {}
    while waiting or living:
        while waiting and len(living) < _AT_ONCE:
            seed = waiting.pop()
            place = folder / str(seed)
            place.mkdir()
            (place / "tally").write_bytes(bytes(TALLY.size))
            child = os.fork()
            if child == 0:
                sit_down(place, seed, reader, shadowed=shadowed)
                os._exit(1)
            living[child] = _Life(place=place, seed=seed)
        time.sleep(0.001)
        for child in [child for child, life in living.items() if life.is_over]:
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
                sys.exit(f"A session ended by itself: {os.waitstatus_to_exitcode(status)}.")
            del living[child]


if __name__ == "__main__":
    main(
        Path(sys.argv[1]),
        range(int(sys.argv[2]), int(sys.argv[3])),
        shadowed=sys.argv[4] == "power",
    )
