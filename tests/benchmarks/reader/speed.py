"""How fast notes are read, and whether memory stays flat.

    python -m tests.benchmarks.reader.speed [--notes 100000]

Reads the notes of the tuning gold sessions over and over: through the reader alone, and
through reader and logbook, one log for each session. Prints notes a second on one core,
resident memory on the way, and the time to read a log of 10,000 notes again.
"""

from __future__ import annotations

import argparse
import itertools
import resource
import time

from tests.gold.score import HERE, read_notes, read_session
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene
from voicelog.vocabulary import load_vocabulary


def resident_mb() -> float:
    """Return the largest resident size so far, in MB (Linux gives it in KB)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--notes", type=int, default=100_000)
    wanted: int = parser.parse_args().notes
    reader = Reader(load_vocabulary(), ReadingOptions())
    sessions = [read_session(path) for path in sorted((HERE / "tuning").glob("*.gold"))]
    for session in sessions:
        read_notes(session.notes, reader)
    said = [note for session in sessions for note in session.notes]

    started = time.process_time()
    for session in sessions:
        read_notes(session.notes, reader)
    spent = time.process_time() - started
    print(f"reader and logbook: {len(said) / spent:.0f} notes/s of processor time")

    surroundings = Surroundings(scene=Scene(has_leaf=True))
    started = time.process_time()
    for number, text in enumerate(itertools.islice(itertools.cycle(said), wanted), start=1):
        reader.read(Note(number=number, uid=str(number), text=text), surroundings)
        if number % (wanted // 5) == 0:
            print(f"  {number:7} notes read, resident memory {resident_mb():.0f} MB")
    spent = time.process_time() - started
    print(f"reader alone: {wanted / spent:.0f} notes/s of processor time")

    logbook = Logbook(reader)
    started = time.perf_counter()
    for number, text in enumerate(itertools.islice(itertools.cycle(said), 10_000), start=1):
        logbook.take(Note(number=number, uid=str(number), text=text))
    print(f"a log of 10,000 notes read again in {time.perf_counter() - started:.1f} s")


if __name__ == "__main__":
    main()
