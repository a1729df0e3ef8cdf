"""Hears clips, cell by cell, and keeps what was heard.

    python -m tests.benchmarks.hearing.hear CACHE --set tuning --engine whisper --biasing standing

What a cell holds already is not heard again.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from models.recipe.people import Part
from tests.benchmarks.hearing.cache import Cell, HeardClip, HearingCache
from tests.benchmarks.hearing.clips import (
    HELD_OUT_VOICES,
    TUNING_VOICES,
    Clip,
    Session,
    read_an4,
    read_gold,
    read_orders,
)
from tests.benchmarks.hearing.conditions import CLEAN, CONDITIONS, apply_condition
from tests.benchmarks.hearing.engines import BIASINGS, DEAF_TO_BIASING, ENGINES, Biasing
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Recogniser, Samples, Segment
from voicelog.vocabulary import Vocabulary, load_vocabulary

SETS = ("tuning", "held_back", "an4", "orders")
PEOPLE = "people, "


def voices_of(set_name: str) -> tuple[str, ...]:
    """Return who says a set: synthetic voices, or the parts that people fall into."""
    if set_name in {"tuning", "held_back"}:
        return TUNING_VOICES if set_name == "tuning" else HELD_OUT_VOICES
    parts = [Part.TUNING, Part.HELD_OUT] if set_name == "an4" else [Part.HELD_OUT]
    return tuple(f"{PEOPLE}{part}" for part in parts)


def read_sessions(
    set_name: str, voice: str, *, notes: int, speech: Path | None
) -> tuple[Session, ...]:
    """Return what a voice says of a set.

    Args:
        set_name: one of :data:`SETS`.
        voice: one of :func:`voices_of`, or "people, training".
        notes: how many clips; of gold sessions the last one is whole.
        speech: the folder with recordings of people; None where there is none.
    """
    if set_name in {"tuning", "held_back"}:
        return read_gold(set_name, voice, least_notes=notes)
    if speech is None:
        return ()
    read = read_an4 if set_name == "an4" else read_orders
    return read(speech / set_name, Part(voice.removeprefix(PEOPLE)), most=notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is to be heard of one cell.

    Attributes:
        cell: the cell.
        sessions: what is said in it.
        most: how many clips of each session to hear; None for all.
        biasing: gives what is told to expect, where it is none of the biasings by name.
    """

    cell: Cell
    sessions: tuple[Session, ...]
    most: int | None = None
    biasing: Callable[[Vocabulary], Biasing] | None = None


def hear(cache: HearingCache, wanted: Iterable[Wanted]) -> None:
    """Hear what the cache lacks; one line on standard error for each cell."""
    ears: dict[str, Recogniser] = {}
    vocabulary = load_vocabulary()
    reader = Reader(vocabulary, ReadingOptions())
    told = _Told()
    for one in wanted:
        cell = one.cell
        if cell.engine not in ears:
            ears[cell.engine] = ENGINES[cell.engine](lambda: told.biasing.words, cache.folder)
        began_s = time.monotonic()
        known = cache.heard(cell)
        new = 0
        for session in one.sessions:
            told.biasing = (one.biasing or BIASINGS[cell.biasing])(vocabulary)
            logbook = Logbook(reader)
            for number, clip in enumerate(session.clips[: one.most], start=1):
                if clip.name not in known:
                    sound = _sound_of(clip, cell, cache)
                    known[clip.name] = _hear_one(ears[cell.engine], cell, clip.name, sound)
                    cache.add(known[clip.name])
                    new += 1
                changed = logbook.take(known[clip.name].as_note(number))
                told.biasing.take(changed, logbook.context)
        took_s = time.monotonic() - began_s
        print(f"{cell.file_name}: {new} heard in {took_s:.0f} s", file=sys.stderr, flush=True)


class _Told:
    """What the ears are told to expect at present."""

    biasing: Biasing


def _sound_of(clip: Clip, cell: Cell, cache: HearingCache) -> Samples:
    # Recordings of people stay where they are; only what was made is kept.
    is_person = cell.voice.startswith(PEOPLE)
    clean = clip.sound() if is_person else cache.sound(cell.voice, clip.name, clip.sound)
    return apply_condition(cell.condition, clean, seed=f"{cell.voice} {clip.name}")


def _hear_one(ear: Recogniser, cell: Cell, clip: str, sound: Samples) -> HeardClip:
    seconds = len(sound) / SAMPLE_RATE_HZ
    began_s, used_s = time.perf_counter(), time.process_time()
    heard = ear.recognise(Segment(samples=sound, start_s=0.0, end_s=seconds))
    return HeardClip(
        cell=cell,
        clip=clip,
        model=ear.model,
        heard=heard,
        seconds=seconds,
        took_s=time.perf_counter() - began_s,
        cpu_s=time.process_time() - used_s,
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Hear the cells that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--set", dest="sets", action="append", choices=SETS, required=True)
    parser.add_argument("--engine", dest="engines", action="append", choices=list(ENGINES))
    parser.add_argument("--biasing", dest="biasings", action="append", choices=list(BIASINGS))
    parser.add_argument("--condition", dest="conditions", action="append", choices=CONDITIONS)
    parser.add_argument("--voice", dest="voices", action="append")
    parser.add_argument("--notes", type=int, default=58)
    parser.add_argument("--speech", type=Path)
    given = parser.parse_args(arguments)
    wanted = [
        Wanted(
            cell=Cell(
                set_name=set_name,
                voice=voice,
                condition=condition,
                engine=engine,
                biasing=biasing,
            ),
            sessions=read_sessions(set_name, voice, notes=given.notes, speech=given.speech),
        )
        for engine in given.engines or ENGINES
        for biasing in (
            given.biasings or ["standing"] if engine not in DEAF_TO_BIASING else ["none"]
        )
        for set_name in given.sets
        for voice in given.voices or voices_of(set_name)
        for condition in given.conditions or [CLEAN]
    ]
    hear(HearingCache(given.cache), wanted)


if __name__ == "__main__":
    main()
