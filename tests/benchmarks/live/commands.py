"""How well spoken commands are heard, and how often something else is taken for one.

    python tests/benchmarks/live/commands.py [RECORDING-OR-FOLDER...]

Misses: each command, said by every voice of espeak-ng and flite named below, at two
speeds, heard by the recogniser alone and with the command listener beside it. (The small
vosk model of the listener was trained on speech of these programs, among others; people
are harder.) False alarms: recordings of people who give no command, the AN4 clips in the
repository and whatever is named on the command line.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from voicelog.domain.statement import Order
from voicelog.extraction.reader import Reader
from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.commands import CommandListener
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Recogniser, Segment
from voicelog.recognition.segments import locate_speech
from voicelog.session.live.orders import find_orders
from voicelog.settings import Settings, read_settings
from voicelog.wiring import (
    make_command_listener,
    make_reading_options,
    make_recogniser,
    make_vocabulary,
)

AN4 = Path(__file__).parents[2] / "reference" / "an4"
ESPEAK = ("en", "en-us", "en-gb-scotland", "en+f3", "en-us+m5")
FLITE = ("kal", "awb", "rms", "slt")
SPEEDS = (130, 160)
EDGE = np.zeros(SAMPLE_RATE_HZ // 2, dtype=np.float32)


def say(text: str, folder: Path) -> Iterator[Path]:
    """Yield the command as each voice says it, at each speed."""
    path = folder / "said.wav"
    for speed in SPEEDS:
        for voice in ESPEAK if shutil.which("espeak-ng") else ():
            subprocess.run(
                ["espeak-ng", "-v", voice, "-s", str(speed), "-w", str(path), text], check=True
            )
            yield path
        for voice in FLITE if shutil.which("flite") else ():
            stretch = f"duration_stretch={160 / speed}"
            subprocess.run(
                ["flite", "-voice", voice, "--setf", stretch, "-t", text, "-o", str(path)],
                check=True,
            )
            yield path


def read_segment(path: Path) -> Segment:
    samples = np.concatenate([EDGE, *iter_blocks(path), EDGE])
    return Segment(samples=samples, start_s=0.0, end_s=len(samples) / SAMPLE_RATE_HZ)


def count_heard(
    order: Order, recogniser: Recogniser, listener: CommandListener | None, reader: Reader
) -> tuple[int, int, int]:
    """Return how often the command was said, heard alone, and heard with the listener."""
    said = alone = together = 0
    with tempfile.TemporaryDirectory() as folder:
        for path in say(str(order), Path(folder)):
            segment = read_segment(path)
            said += 1
            is_heard = order in find_orders(recogniser.recognise(segment).text, reader).given
            command = listener.find(segment) if listener else None
            alone += is_heard
            if command is not None:
                is_heard = order in find_orders(command.text, reader).given
            together += is_heard
    return said, alone, together


def find_false_alarms(
    paths: list[Path], listener: CommandListener
) -> tuple[float, list[tuple[str, str]]]:
    """Return how much speech there was, in seconds, and what was taken for a command."""
    speech_s = 0.0
    alarms = []
    for path in paths:
        segment = read_segment(path)
        speech_s += sum(part.duration_s for part in locate_speech(segment))
        command = listener.find(segment)
        if command is not None:
            alarms.append((path.name, command.text))
    return speech_s, alarms


def make_reader(settings: Settings) -> Reader:
    names = ("default_unit", "default_century", "day_first", "first_page")
    kept = {name: getattr(settings, name) for name in names}
    return Reader(make_vocabulary(settings), make_reading_options(settings, kept))


def main() -> int:
    parser = argparse.ArgumentParser(description="Measure misses and false alarms.")
    parser.add_argument("paths", nargs="*", type=Path)
    wanted = parser.parse_args()
    settings = read_settings(environment={})
    listener = make_command_listener(settings)
    if listener is None:
        print("There is no small vosk model here, so nothing listens for commands.")
        return 1
    reader = make_reader(settings)
    recogniser = make_recogniser(settings, make_vocabulary(settings))
    for order in Order:
        said, alone, together = count_heard(order, recogniser, listener, reader)
        print(f"{order:16} said {said}, heard alone {alone}, with the listener {together}")
    files = [
        file
        for path in (AN4, *wanted.paths)
        for file in (sorted(path.rglob("*.flac")) if path.is_dir() else [path])
    ]
    speech_s, alarms = find_false_alarms(files, listener)
    print(f"{len(files)} recordings, {speech_s / 60:.1f} min of speech: {len(alarms)} false alarms")
    for name, text in alarms:
        print(f"  {name}: {text}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
