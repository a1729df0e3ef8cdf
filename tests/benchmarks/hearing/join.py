"""Joins what both ears have heard already, so that nothing need be heard again.

    python -m tests.benchmarks.hearing.join CACHE --set tuning --set held_back

Held-out voices are joined with the weights that voicelog ships. Each tuning voice is joined
with weights that learnt from the other tuning voices alone: so joined speech that confidence is
fitted on (``fit_doubt``) is as new to the joining as a new voice is. What a cell of joined
speech held before is written anew.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from tests.benchmarks.hearing.both_ears import HeardSession, iter_heard_sessions
from tests.benchmarks.hearing.cache import Cell, HeardClip, HearingCache
from tests.benchmarks.hearing.fit_joining import Lessons, gather_lessons, learn
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.hearing.joining import Joiner
from voicelog.hearing.weights import Weights, load_weights
from voicelog.recognition.recogniser import Heard
from voicelog.vocabulary import load_vocabulary


def join_all(cache: HearingCache, set_name: str, reader: Reader) -> None:
    """Join every session of a set that both ears heard to its end."""
    sessions = list(iter_heard_sessions(cache, set_name))
    lessons = gather_lessons(sessions, reader) if set_name == "tuning" else {}
    for voice in sorted({one.voice for one in sessions}):
        joiner = Joiner(reader, _weights_for(voice, sessions, reader, lessons))
        opened = Cell(
            set_name=set_name, voice=voice, condition="clean", engine="whisper", biasing="standing"
        )
        closed = replace(opened, engine="vosk", biasing="none")
        ears = cache.heard(opened), cache.heard(closed)
        joined = [
            _as_heard(replace(opened, engine="both"), heard, ears[0][clip], ears[1][clip])
            for session in sessions
            if session.voice == voice
            for clip, heard in zip(session.clips, session.joined(joiner), strict=True)
        ]
        cache.replace(replace(opened, engine="both"), joined)
        print(f"{set_name}, {voice}: {len(joined)} joined", file=sys.stderr, flush=True)


def _weights_for(
    voice: str, sessions: list[HeardSession], reader: Reader, lessons: Lessons
) -> Weights:
    if not lessons:
        return load_weights()
    return learn([one for one in sessions if one.voice != voice], reader, lessons)


def _as_heard(cell: Cell, heard: Heard, opened: HeardClip, closed: HeardClip) -> HeardClip:
    return HeardClip(
        cell=cell,
        clip=opened.clip,
        model=f"{opened.model} + {closed.model}",
        heard=heard,
        seconds=opened.seconds,
        took_s=max(opened.took_s, closed.took_s),
        cpu_s=opened.cpu_s + closed.cpu_s,
    )


def main() -> None:
    """Join the sets that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--set", dest="sets", action="append", required=True)
    given = parser.parse_args()
    reader = Reader(load_vocabulary(), ReadingOptions())
    for set_name in given.sets:
        join_all(HearingCache(given.cache), set_name, reader)


if __name__ == "__main__":
    main()
