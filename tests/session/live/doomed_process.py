"""Recorders that are killed: each records in real time and takes notes, until it dies."""

from __future__ import annotations

import random
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.session.live.dooming import RATE_HZ, Fate, KeptTally, run_as_program
from voicelog.domain.utterance import Utterance
from voicelog.session.live.growing_wav import Sync
from voicelog.session.live.recorder import Recorder, RecorderOptions
from voicelog.session.live.session_files import Machine, RecorderWatcher
from voicelog.session.live.sources import Block, Pcm
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog
from voicelog.testing import PlainLogbook

_BLOCK = 800
_AT_ONCE = 8
_LONGEST_S = 2.0


def make_speech(seed: int) -> Pcm:
    """Noise that is never the same twice, so that each sample proves its place."""
    speech = np.random.default_rng(seed).integers(-9_000, 9_000, round(3 * _LONGEST_S * RATE_HZ))
    return speech.astype(np.int16)


def record(place: Path, seed: int, sync: Sync) -> None:
    """Say and record until the end of the world."""
    chance = random.Random(seed)
    speech = make_speech(seed)
    tally = KeptTally(place)
    log = WritableLog.open_to_write(place / "log", made_by="a test")
    scribe = Scribe(log, PlainLogbook(lambda _note: None))
    recorder = Recorder(
        log.audio_folder,
        # Short files, so that many kills fall into the making and sealing of one.
        RecorderOptions(file_s=chance.choice([0.1, 0.3, 5.0])),
        watcher=RecorderWatcher(
            started=log.begin_session, begun=log.add_recording, sealed=log.seal_recording
        ),
        machine=Machine(sync=sync),
    )
    began_at = time.monotonic()
    for start in range(0, len(speech), _BLOCK):
        at = began_at + start / RATE_HZ
        time.sleep(max(0.0, at + _BLOCK / RATE_HZ - time.monotonic()))
        block = Block(samples=speech[start : start + _BLOCK], sample_rate_hz=RATE_HZ, at=at)
        tally.say(_BLOCK)
        (piece,) = recorder.write(block)
        if chance.random() < 0.2:
            utterance = Utterance(text=f"note {tally.notes + 1}", recording=piece.file)
            scribe.take_down(utterance, heard_to_s=piece.start_s)
            tally.take()


@dataclass(frozen=True, slots=True)
class _ShortLife:
    """A life that ends at a moment that was decided at its birth."""

    dies_at: float

    @property
    def is_over(self) -> bool:
        return time.monotonic() >= self.dies_at


def _begin_life(_place: Path, seed: int) -> _ShortLife:
    return _ShortLife(time.monotonic() + random.Random(seed).uniform(0.02, _LONGEST_S))


if __name__ == "__main__":
    run_as_program(Fate(work=record, begin_life=_begin_life, at_once=_AT_ONCE))
