"""What is written down while nobody speaks to the log, and while somebody else speaks.

    python -m tests.benchmarks.hearing.nobody [--hours 1] [--speech SPEECH --others 0.1]

Silence, noise, hum and page rustle, each an hour, go through the cutter as a recording
does; then recordings of other people's orders, 25 dB weaker than a handler's voice and with
a room's echo, two seconds apart. Counted are the stretches that were taken for speech, the
words written, and the entries that came of them, queried or not.
"""

from __future__ import annotations

import argparse
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from models.recipe.people import Part
from tests.benchmarks.hearing.clips import read_orders
from tests.benchmarks.hearing.conditions import apply_condition
from tests.benchmarks.hearing.engines import ENGINES
from tests.recognition.noises import LEVELS_DB, make_noise
from voicelog.domain.entry import Status
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Recogniser, Samples
from voicelog.recognition.segments import NoteCutter, SegmentOptions
from voicelog.vocabulary import load_vocabulary

SOUNDS = {
    "silence": ("silence",),
    "noise": ("white noise", "pink noise", "brown noise", "fan"),
    "hum": ("mains hum",),
    "page rustle": ("page rustle",),
}
_PIECE_S = 60.0
_FAR_DB = -25.0


@dataclass(kw_only=True)
class Written:
    """What came of some hours of sound.

    Attributes:
        hours: how long it was.
        stretches: what the detector took for speech.
        words: words written, by engine.
        entries: entries made, by engine.
        queried: how many of these are queried, by engine.
    """

    hours: float
    stretches: int
    words: dict[str, int]
    entries: dict[str, int]
    queried: dict[str, int]


def listen(pieces: Iterator[Samples], ears: dict[str, Recogniser], reader: Reader) -> Written:
    """Return what every engine writes of a sound."""
    written = Written(hours=0.0, stretches=0, words={}, entries={}, queried={})
    logbooks = {name: Logbook(reader) for name in ears}
    cutter = NoteCutter(SegmentOptions())
    for piece in pieces:
        written.hours += len(piece) / SAMPLE_RATE_HZ / 3600
        for segment in cutter.push(piece):
            written.stretches += 1
            for name, ear in ears.items():
                heard = ear.recognise(segment)
                written.words[name] = written.words.get(name, 0) + len(heard.words)
                if heard.text:
                    number = written.stretches
                    note = Note(number=number, uid=f"note-{number}", text=heard.text)
                    logbooks[name].take(note)
    for name, logbook in logbooks.items():
        entries = logbook.entries()
        written.entries[name] = len(entries)
        written.queried[name] = sum(one.status is Status.QUERIED for one in entries)
    return written


def iter_noise(name: str, hours: float) -> Iterator[Samples]:
    """Yield minutes of a sound in which nobody speaks, each at another level."""
    kinds = SOUNDS[name]
    for minute in range(round(hours * 60)):
        yield make_noise(
            kinds[minute % len(kinds)],
            seconds=_PIECE_S,
            level_db=LEVELS_DB[minute // len(kinds) % len(LEVELS_DB)],
            seed=zlib.crc32(f"{name} {minute}".encode()),
        )


def iter_others(speech: Path, hours: float) -> Iterator[Samples]:
    """Yield somebody else's speech across the room, as far as there are recordings."""
    pause = np.zeros(2 * SAMPLE_RATE_HZ, dtype=np.float32)
    seconds = 0.0
    for part in (Part.HELD_OUT, Part.TRAINING):
        for clip in read_orders(speech / "orders", part, most=1000)[0].clips:
            if seconds >= hours * 3600:
                return
            far = apply_condition("room echo", clip.sound(), seed=clip.name)
            piece = np.concatenate([far * np.float32(10 ** (_FAR_DB / 20)), pause])
            seconds += len(piece) / SAMPLE_RATE_HZ
            yield piece


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a Markdown table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--hours", type=float, default=1.0, help="of each sound")
    parser.add_argument("--speech", type=Path)
    parser.add_argument("--others", type=float, default=0.1, help="hours of somebody else")
    given = parser.parse_args(arguments)
    vocabulary = load_vocabulary()
    reader = Reader(vocabulary, ReadingOptions())
    ears = {name: make(vocabulary.hot_words, None) for name, make in ENGINES.items()}
    sounds = {name: iter_noise(name, given.hours) for name in SOUNDS}
    if given.speech:
        sounds["somebody else, across the room"] = iter_others(given.speech, given.others)
    print("| sound | hours | taken for speech | engine | words | entries | of them queried |")
    print("|---|---|---|---|---|---|---|")
    for name, pieces in sounds.items():
        written = listen(pieces, ears, reader)
        for ear in ears:
            print(
                f"| {name} | {written.hours:.2f} | {written.stretches} | {ear} "
                f"| {written.words.get(ear, 0)} | {written.entries[ear]} "
                f"| {written.queried[ear]} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
