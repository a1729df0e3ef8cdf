"""How well spoken commands are heard, and how often something else is taken for one.

    python -m tests.benchmarks.live.commands [RECORDING-OR-FOLDER...] [--read TEXT]
        [--speeds WORDS-A-MINUTE...]

Misses: each command, said by every voice named below at each speed, heard by the full
recogniser alone, by the one that hears along, and by both together as at the bench. The
small vosk model was trained on speech of the same programs, but not on the voices marked
as held out (models/README.md); people are harder than any of them.

False alarms: recordings of people who give no command (the AN4 clips in the repository and
whatever is named on the command line), and a text that is read aloud by four voices, each
phrase a note of its own. Only where the small recogniser hears a command can there be one;
those are given to the full recogniser as well.
"""

from __future__ import annotations

import argparse
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicelog.domain.statement import Order
from voicelog.extraction.reader import Reader
from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.commands import CommandListener
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Recogniser, Segment
from voicelog.session.live.likeness import Likeness
from voicelog.session.live.orders import find_orders
from voicelog.settings import read_settings
from voicelog.wiring.hearing import make_recogniser
from voicelog.wiring.live import make_command_listener
from voicelog.wiring.reading import make_reading_options, make_vocabulary

AN4 = Path(__file__).parents[2] / "reference" / "an4"
WORDINGS = {
    Order.STRIKE: ("strike that", "scratch that"),
    Order.CHECK: ("check this", "check that"),
    Order.PAUSE: ("pause log", "pause the log"),
    Order.RESUME: ("resume log", "resume the log"),
    Order.READ_BACK: ("read that back", "read it back"),
    Order.CLOSE_VOLUME: ("close volume", "close the volume"),
}
SPEEDS = (130, 165)
"""Words a minute."""
EDGE = np.zeros(SAMPLE_RATE_HZ // 2, dtype=np.float32)


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """A synthetic voice."""

    program: str
    name: str
    is_held_out: bool = False

    def say(self, text: str, path: Path, *, speed: int) -> None:
        """Write the text as a sound file; the speed is in words a minute."""
        if self.program == "espeak-ng":
            command = ["espeak-ng", "-v", self.name, "-s", str(speed), "-w", str(path), text]
        else:
            stretch = f"duration_stretch={150 / speed}"
            command = ["flite", "-voice", self.name, "--setf", stretch, "-t", text, "-o", str(path)]
        subprocess.run(command, check=True)


VOICES = (
    Voice(program="flite", name="rms", is_held_out=True),
    Voice(program="flite", name="slt", is_held_out=True),
    Voice(program="flite", name="kal"),
    Voice(program="flite", name="awb"),
    *(
        Voice(program="espeak-ng", name=name)
        for name in ("en", "en-us", "en-gb-scotland", "en+f3", "en-us+m5", "en-gb-x-rp+f2")
    ),
)
READERS = ("rms", "slt", "en-us", "en+f3")


def read_segment(path: Path) -> Segment:
    samples = np.concatenate([EDGE, *iter_blocks(path), EDGE])
    return Segment(samples=samples, start_s=0.0, end_s=len(samples) / SAMPLE_RATE_HZ)


class Ears:
    """Both recognisers, and what comes of what they hear."""

    def __init__(self, listener: CommandListener, recogniser: Recogniser, reader: Reader) -> None:
        self.listener = listener
        self._recogniser = recogniser
        self._reader = reader
        self._likeness = Likeness(listener.wordings)

    def hear_fully(self, segment: Segment) -> str:
        return self._recogniser.recognise(segment).text

    def hear_along(self, segment: Segment) -> str:
        command = self.listener.find(segment)
        return command.text if command is not None else ""

    def together(self, along: str, fully: str) -> str:
        return along if along and self._likeness.bears_out(along, fully) else fully

    def gives(self, text: str) -> tuple[Order, ...]:
        return find_orders(text, self._reader).given


def measure_misses(ears: Ears, voices: Iterable[Voice], speeds: Iterable[int]) -> None:
    speeds = tuple(speeds)
    counts: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        for voice in voices:
            group = "held out" if voice.is_held_out else "trained on"
            for order, wordings in WORDINGS.items():
                for wording in wordings:
                    for speed in speeds:
                        voice.say(wording, path, speed=speed)
                        segment = read_segment(path)
                        fully, along = ears.hear_fully(segment), ears.hear_along(segment)
                        both = ears.together(along, fully)
                        counts[group, "said"] += 1
                        counts[group, "fully"] += order in ears.gives(fully)
                        counts[group, "along"] += order in ears.gives(along)
                        counts[group, "both"] += order in ears.gives(both)
                        if order not in ears.gives(both):
                            print(f"  missed: {wording} by {voice.program} {voice.name}: {fully}")
    for group in ("held out", "trained on"):
        said = counts[group, "said"]
        if not said:
            continue
        missed = {who: said - counts[group, who] for who in ("fully", "along", "both")}
        print(
            f"{group}: {said} commands said; missed by the full recogniser alone "
            f"{missed['fully']}, along {missed['along']}, together {missed['both']} "
            f"({100 * missed['both'] / said:.1f} %)"
        )


def read_aloud(text: Path, voices: Iterable[Voice], folder: Path) -> Iterator[Path]:
    """Yield each phrase of a text as each voice says it."""
    written = text.read_text(encoding="utf-8")
    phrases = [phrase.strip() for phrase in re.split(r"[.,;:?!()\n]+", written)]
    path = folder / "read.wav"
    for voice in voices:
        for phrase in phrases:
            if phrase:
                voice.say(phrase, path, speed=165)
                yield path


def measure_alarms(ears: Ears, what: str, paths: Iterable[Path]) -> None:
    sound_s = 0.0
    along = carried_out = count = 0
    for path in paths:
        segment = read_segment(path)
        count += 1
        sound_s += segment.end_s - 2 * len(EDGE) / SAMPLE_RATE_HZ
        command = ears.hear_along(segment)
        if command:
            fully = ears.hear_fully(segment)
            is_taken = ears.together(command, fully) == command
            along += 1
            carried_out += is_taken
            print(f"  {path.name}: {command} / {fully}{' TAKEN' if is_taken else ''}")
    print(
        f"{what}: {count} notes, {sound_s / 3600:.2f} h: commands heard along {along}, "
        f"carried out {carried_out} ({carried_out / max(sound_s / 3600, 1e-9):.2f} an hour)"
    )


def make_ears() -> Ears | None:
    settings = read_settings(environment={})
    vocabulary = make_vocabulary(settings)
    listener = make_command_listener(settings)
    if listener is None:
        return None
    names = ("default_unit", "default_century", "day_first", "first_page")
    kept = {name: getattr(settings, name) for name in names}
    reader = Reader(vocabulary, make_reading_options(settings, kept))
    return Ears(listener, make_recogniser(settings, vocabulary), reader)


def main() -> int:
    parser = argparse.ArgumentParser(description="Measure misses and false alarms.")
    parser.add_argument("paths", nargs="*", type=Path)
    parser.add_argument("--read", type=Path, help="a text that is read aloud")
    parser.add_argument("--speeds", nargs="*", type=int, default=SPEEDS)
    wanted = parser.parse_args()
    ears = make_ears()
    if ears is None:
        print("There is no small vosk model here, so nothing listens for commands.")
        return 1
    voices = [voice for voice in VOICES if shutil.which(voice.program)]
    for path in (AN4, *wanted.paths):
        files = sorted(path.rglob("*.flac")) if path.is_dir() else [path]
        measure_alarms(ears, path.name, files)
    if wanted.read is not None:
        readers = [voice for voice in voices if voice.name in READERS]
        with tempfile.TemporaryDirectory() as folder:
            read = read_aloud(wanted.read, readers, Path(folder))
            measure_alarms(ears, f"{wanted.read.name}, read by {len(readers)} voices", read)
    measure_misses(ears, voices, wanted.speeds)
    return 0


if __name__ == "__main__":
    sys.exit(main())
