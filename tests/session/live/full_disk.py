"""A session that runs into a full disk, and another when there is room again.

Run by a test on a small file system of its own, given as the only argument. Prints how many
notes the log held after the first and after the second.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np

from tests.session.live.bench import spoken_sounds
from tests.session.live.bench_day import BenchDay, BySound, HurriedClock, HurriedSource
from tests.session.live.doomed_session import TEXTS, Silent, make_reader
from tests.session.live.reading import read_all
from tests.session.live.surviving import open_log
from tests.session.live.survivors import check_files
from voicelog.errors import DiskFull
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.live.desk import Desk
from voicelog.session.live.loop import LiveSession
from voicelog.session.live.loudspeaker import Speaking
from voicelog.session.live.options import LiveOptions, Outcome
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.recovery import hear_unfinished, settle
from voicelog.session.live.session_files import Machine
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog

_SPEED = 40.0


def work(log: WritableLog, day: BenchDay, reader: Reader) -> Outcome:
    """Work through a day as `voicelog listen` would: what was left is heard first."""
    logbook = Logbook(reader)
    scribe = Scribe(log, logbook)
    scribe.catch_up(reason="a test")
    recogniser = BySound(spoken_sounds(), TEXTS)
    hear_unfinished(settle(log), scribe, Hearing(recogniser=recogniser, segments=SegmentOptions()))
    check_files(log)
    clock = HurriedClock(_SPEED)
    return LiveSession(
        Desk(scribe, logbook, reader),
        HurriedSource(day, clock),
        lambda: recogniser,
        options=LiveOptions(
            segments=SegmentOptions(),
            recorder=RecorderOptions(),
            speaking=Speaking(player=Silent(), voice=None),
        ),
        machine=Machine(clocks=clock.as_clocks()),
    ).run()


def main(place: Path) -> None:
    day = BenchDay(spoken_sounds(), notes=40, hours=0.06, seed=3)
    reader = make_reader()
    with open_log(place / "log") as log:
        outcome = work(log, day, reader)
        if not isinstance(outcome.failure, DiskFull):
            sys.exit(f"The disk was never full: {outcome}.")
        kept = read_all(log.audio_folder)
        said = np.concatenate(list(day.iter_blocks()))[: len(kept)]
        if not np.array_equal(kept, said):
            sys.exit("What is kept is not what was said.")
        first = [note.text for note in log.iter_notes()]
        if first != [TEXTS[spoken.sound] for spoken in day.said[: len(first)]]:
            sys.exit("The notes are not those that were said.")
        whole = sum(spoken.end <= len(kept) for spoken in day.said)
        subprocess.run(("mount", "-o", "remount,size=300m", place), check=True)
        again = BenchDay(spoken_sounds(), notes=8, hours=0.015, seed=4)
        outcome = work(log, again, reader)
        if outcome.failure is not None:
            sys.exit(f"With room again it did not go on: {outcome}.")
        texts = [note.text for note in log.iter_notes()]
        behind = [TEXTS[spoken.sound] for spoken in again.said]
        if texts[len(texts) - len(behind) :] != behind or len(texts) - len(behind) < whole:
            sys.exit("Notes were lost or doubled.")
        check_files(log)
    sys.stdout.write(f"{len(first)} {len(texts) - len(first)}\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
