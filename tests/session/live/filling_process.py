"""Records until the disk is full; run by a test on a small file system of its own."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from tests.session.live.reading import read_all
from voicelog.errors import DiskFull
from voicelog.session.live.recorder import Recorder, RecorderOptions
from voicelog.session.live.sources import Block

BLOCK = 1_600


def main(folder: Path, stop_bytes: int) -> None:
    said = np.random.default_rng(9).integers(-9_000, 9_000, 16_000 * 600).astype(np.int16)
    handed_on = 0
    recorder = Recorder(folder, RecorderOptions(sync_s=0.0, file_s=30, stop_bytes=stop_bytes))
    try:
        for start in range(0, len(said), BLOCK):
            block = Block(
                samples=said[start : start + BLOCK], sample_rate_hz=16_000, at=start / 16_000
            )
            handed_on += sum(len(piece.samples) for piece in recorder.write(block))
    except DiskFull:
        recorder.close()
    else:
        sys.exit("The disk was never full.")
    kept = read_all(folder)
    if not np.array_equal(kept, said[: len(kept)]):
        sys.exit("What is kept is not what was said.")
    if not handed_on <= len(kept) < handed_on + BLOCK:
        sys.exit(f"{handed_on} samples were handed on, {len(kept)} are kept.")
    sys.stdout.write(f"{len(kept) / 16_000}\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
