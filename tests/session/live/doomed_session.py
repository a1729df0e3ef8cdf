"""Whole sessions that are killed, each at a random instant of a day of its own.

The day is worked through some twenty times faster than it would pass, through recorder, detector,
recogniser, reader and log.
"""

from __future__ import annotations

import random
import time
from functools import partial
from pathlib import Path

from tests.session.live.bench import spoken_sounds
from tests.session.live.bench_day import BenchDay, BySound, HurriedClock, HurriedSource
from tests.session.live.dooming import RATE_HZ, Fate, KeptTally, read_tally, run_as_program
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.recognition.recogniser import Heard, Segment
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.live.desk import Desk
from voicelog.session.live.growing_wav import Sync
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


class TalliedSource(HurriedSource):
    """A day's sound, each block counted before anybody gets it."""

    def __init__(self, day: BenchDay, clock: HurriedClock, tally: KeptTally) -> None:
        super().__init__(day, clock)
        self._tally = tally

    def read(self, timeout_s: float) -> Block | None:
        block = super().read(timeout_s)
        self._tally.say(0 if block is None else len(block.samples))
        return block


def sit_down(place: Path, seed: int, sync: Sync, *, reader: Reader) -> None:
    """Work through a day until the end of the world."""
    chance = random.Random(seed)
    tally = KeptTally(place)
    log = WritableLog.open_to_write(place / "log", made_by="a test")
    logbook = Logbook(reader)
    clock = HurriedClock(_SPEED)
    recogniser = Unreliable(chance)
    LiveSession(
        Desk(Scribe(log, logbook), logbook, reader),
        TalliedSource(make_day(seed), clock, tally),
        lambda: recogniser,
        options=LiveOptions(
            segments=SegmentOptions(),
            # Short files, so that many kills fall into the making and sealing of one; long
            # enough to end in a pause, since the double knows no half sounds.
            recorder=RecorderOptions(file_s=chance.choice([16.0, 20.0, 600.0])),
            speaking=Speaking(player=Silent(), voice=None),
        ),
        watcher=LiveWatcher(taken=lambda _taken, _after_s: tally.take()),
        machine=Machine(clocks=clock.as_clocks(), sync=sync),
    ).run()


class _Life:
    """One session's life: it ends some time after so much was said, or at its very start.

    Counted in what was said, so that a slow machine lets sessions come as far as a fast one.
    """

    def __init__(self, place: Path, seed: int) -> None:
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


if __name__ == "__main__":
    # Made here once, the speech detector too, and not in every child.
    work = partial(sit_down, reader=make_reader())
    spoken_sounds()
    run_as_program(Fate(work=work, begin_life=_Life, at_once=_AT_ONCE))
