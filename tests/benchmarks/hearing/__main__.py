"""The whole bench: hear what the cache lacks, the most important cells first, then write it up.

    python -m tests.benchmarks.hearing CACHE --speech SPEECH [--out FOLDER] [--short]

Clean speech of every voice comes first, whisper with each biasing; then every other
condition for one tuning and one held-out voice. ``--short`` hears two strings of AN4.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.benchmarks.hearing.cache import Cell, HearingCache
from tests.benchmarks.hearing.clips import HELD_OUT_VOICES, TUNING_VOICES
from tests.benchmarks.hearing.conditions import CLEAN, CONDITIONS
from tests.benchmarks.hearing.engines import BIASINGS, DEAF_TO_BIASING, ENGINES
from tests.benchmarks.hearing.hear import SETS, Wanted, hear, read_sessions, voices_of
from tests.benchmarks.hearing.report import CLEAN_CLIPS, write_report

SPOILT_NOTES = 20
USUAL_BIASING = "standing"
_SPOILT = (("tuning", TUNING_VOICES[0]), ("held_back", HELD_OUT_VOICES[0]))
_SHORT_CLIPS = 2


def iter_long(speech: Path | None) -> Iterator[Wanted]:
    """Yield every cell of the long form, in the order in which they are worth having."""
    for biasing in sorted(BIASINGS, key=lambda name: name != USUAL_BIASING):
        for engine in ENGINES:
            if engine != "whisper" and biasing != USUAL_BIASING:
                continue
            for set_name in SETS:
                for voice in voices_of(set_name):
                    cell = _cell(set_name, voice, CLEAN, engine, biasing)
                    yield _want(cell, speech, clips=CLEAN_CLIPS)
    for condition in CONDITIONS:
        for set_name, voice in _SPOILT:
            for engine in ENGINES:
                cell = _cell(set_name, voice, condition, engine)
                yield _want(cell, speech, clips=SPOILT_NOTES)


def iter_short(speech: Path) -> Iterator[Wanted]:
    """Yield a few clips that need no synthetic voice."""
    for engine in ENGINES:
        for condition in (CLEAN, "hum"):
            cell = _cell("an4", "people, training", condition, engine)
            yield _want(cell, speech, clips=_SHORT_CLIPS)


def _cell(
    set_name: str, voice: str, condition: str, engine: str, biasing: str = USUAL_BIASING
) -> Cell:
    return Cell(
        set_name=set_name,
        voice=voice,
        condition=condition,
        engine=engine,
        biasing="none" if engine in DEAF_TO_BIASING else biasing,
    )


def _want(cell: Cell, speech: Path | None, *, clips: int) -> Wanted:
    sessions = read_sessions(cell.set_name, cell.voice, notes=clips, speech=speech)
    return Wanted(cell=cell, sessions=sessions, most=None if cell.condition == CLEAN else clips)


def main(arguments: Sequence[str] | None = None) -> None:
    """Hear, then write table, summary and picture."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--speech", type=Path)
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    parser.add_argument("--short", action="store_true")
    given = parser.parse_args(arguments)
    cache = HearingCache(given.cache)
    hear(cache, iter_short(given.speech) if given.short else iter_long(given.speech))
    write_report(cache, given.out, speech=given.speech, clips=CLEAN_CLIPS)


if __name__ == "__main__":
    main()
