"""Records in real time, takes notes, and is killed: the parent of many short-lived recorders.

Run as a program of its own, so that nothing else shares the process; it forks one child
for each seed, lets it record for a random while and sends SIGKILL. What each child had said
and taken down by then, it wrote into a mapped file, which survives it.
"""

from __future__ import annotations

import mmap
import os
import random
import signal
import struct
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicelog.domain.utterance import Utterance
from voicelog.session.live.recorder import Recorder, RecorderOptions
from voicelog.session.live.session_files import Machine, RecorderWatcher
from voicelog.session.live.sources import Block, Pcm
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog
from voicelog.testing import PlainLogbook

RATE_HZ = 16_000
BLOCK = 800
_AT_ONCE = 8
_LONGEST_S = 2.0
TALLY = struct.Struct("<QQ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What had happened when the kill came: samples said, notes taken down."""

    said: int
    notes: int


def read_tally(folder: Path) -> Tally:
    said, notes = TALLY.unpack((folder / "tally").read_bytes())
    return Tally(said=said, notes=notes)


def make_speech(seed: int) -> Pcm:
    """Noise that is never the same twice, so that each sample proves its place."""
    speech = np.random.default_rng(seed).integers(-9_000, 9_000, round(3 * _LONGEST_S * RATE_HZ))
    return speech.astype(np.int16)


class ShadowDisk:
    """A second disk that holds exactly what was brought to the first by an fsync.

    A file's content is kept by its inode, a folder's names as they were when the folder
    was brought to the disk: what a power cut leaves in the strictest reading of POSIX.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        folder.mkdir(exist_ok=True)

    def __call__(self, descriptor: int) -> None:
        path = Path(f"/proc/self/fd/{descriptor}").readlink()
        if path.is_dir():
            names = "\n".join(f"{entry.inode()} {entry.name}" for entry in os.scandir(path))
            self._keep("names", names.encode())
        else:
            self._keep(str(os.fstat(descriptor).st_ino), path.read_bytes())

    def _keep(self, name: str, content: bytes) -> None:
        unready = self._folder / f"{name}.unready"
        unready.write_bytes(content)
        unready.rename(self._folder / name)


def record(folder: Path, seed: int, *, shadowed: bool) -> None:
    """Say and record until the end of the world."""
    chance = random.Random(seed)
    speech = make_speech(seed)
    with (folder / "tally").open("r+b") as file:
        tally = mmap.mmap(file.fileno(), TALLY.size)
    log = WritableLog.open_to_write(folder / "log", made_by="a test")
    scribe = Scribe(log, PlainLogbook(lambda _note: None))
    recorder = Recorder(
        log.audio_folder,
        # Short files, so that many kills fall into the making and sealing of one.
        RecorderOptions(file_s=chance.choice([0.1, 0.3, 5.0])),
        watcher=RecorderWatcher(
            started=log.begin_session, begun=log.add_recording, sealed=log.seal_recording
        ),
        machine=Machine(sync=ShadowDisk(folder / "shadow")) if shadowed else Machine(),
    )
    began_at = time.monotonic()
    notes = 0
    for start in range(0, len(speech), BLOCK):
        at = began_at + start / RATE_HZ
        time.sleep(max(0.0, at + BLOCK / RATE_HZ - time.monotonic()))
        block = Block(samples=speech[start : start + BLOCK], sample_rate_hz=RATE_HZ, at=at)
        tally[:] = TALLY.pack(start + BLOCK, notes)
        (piece,) = recorder.write(block)
        if chance.random() < 0.2:
            utterance = Utterance(text=f"note {notes + 1}", recording=piece.file)
            scribe.take_down(utterance, heard_to_s=piece.start_s)
            notes += 1
            tally[:] = TALLY.pack(start + BLOCK, notes)


def main(folder: Path, seeds: range, *, shadowed: bool) -> None:
    """Let one child record for each seed, and kill it."""
    waiting = list(seeds)
    dying: dict[int, float] = {}
    while waiting or dying:
        while waiting and len(dying) < _AT_ONCE:
            seed = waiting.pop()
            place = folder / str(seed)
            place.mkdir()
            (place / "tally").write_bytes(bytes(TALLY.size))
            child = os.fork()
            if child == 0:
                record(place, seed, shadowed=shadowed)
                os._exit(1)
            dying[child] = time.monotonic() + random.Random(seed).uniform(0.02, _LONGEST_S)
        time.sleep(0.001)
        for child in [child for child, dies_at in dying.items() if dies_at <= time.monotonic()]:
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
                sys.exit(f"A recorder ended by itself: {os.waitstatus_to_exitcode(status)}.")
            del dying[child]


if __name__ == "__main__":
    main(
        Path(sys.argv[1]),
        range(int(sys.argv[2]), int(sys.argv[3])),
        shadowed=sys.argv[4] == "power",
    )
