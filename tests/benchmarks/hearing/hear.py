"""Hears clips, cell by cell, and keeps what was heard.

    python -m tests.benchmarks.hearing.hear CACHE --set tuning --engine whisper --biasing standing

What a cell holds already is not heard again.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from models.recipe.people import Part
from tests.benchmarks.hearing.cache import Cell, HeardClip, HearingCache
from tests.benchmarks.hearing.clips import (
    HELD_OUT_VOICES,
    TUNING_VOICES,
    Session,
    read_an4,
    read_gold,
    read_orders,
)
from tests.benchmarks.hearing.conditions import CLEAN, CONDITIONS, apply_condition
from tests.benchmarks.hearing.engines import BIASINGS, ENGINES
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Recogniser, Samples, Segment
from voicelog.vocabulary import load_vocabulary

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
    """

    cell: Cell
    sessions: tuple[Session, ...]


def hear(cache: HearingCache, wanted: Iterable[Wanted]) -> None:
    """Hear what the cache lacks; one line on standard error for each cell."""
    ears: dict[tuple[str, str], Recogniser] = {}
    vocabulary = load_vocabulary()
    for one in wanted:
        cell = one.cell
        ear_key = (cell.engine, cell.biasing)
        if ear_key not in ears:
            ears[ear_key] = ENGINES[cell.engine](BIASINGS[cell.biasing](vocabulary))
        began_s = time.monotonic()
        known = cache.heard(cell)
        new = 0
        for session in one.sessions:
            for clip in session.clips:
                if clip.name in known:
                    continue
                # Recordings of people stay where they are; only what was made is kept.
                clean = (
                    clip.sound()
                    if cell.voice.startswith(PEOPLE)
                    else cache.sound(cell.voice, clip.name, clip.sound)
                )
                sound = apply_condition(cell.condition, clean, seed=f"{cell.voice} {clip.name}")
                cache.add(_hear_one(ears[ear_key], cell, clip.name, sound))
                new += 1
        took_s = time.monotonic() - began_s
        print(f"{cell.file_name}: {new} heard in {took_s:.0f} s", file=sys.stderr, flush=True)


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
        for biasing in (given.biasings or ["standing"] if engine != "vosk" else ["none"])
        for set_name in given.sets
        for voice in given.voices or voices_of(set_name)
        for condition in given.conditions or [CLEAN]
    ]
    hear(HearingCache(given.cache), wanted)


if __name__ == "__main__":
    main()
