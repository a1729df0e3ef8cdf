"""How soon words are on the screen while they are spoken, and a command is known.

    python -m tests.benchmarks.live.partial_words [RECORDING...]

The notes of the recordings (without any: the second demo recording) are fed in blocks of
0.1 s, in real time, to what hears along at the bench. A word is late by the time from its
end in the sound (as the recogniser itself places it) to its appearance; a note by the time
from its closing to the answer whether it is a command.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time
from collections.abc import Iterator
from pathlib import Path

from voicelog.recognition.commands import CommandListener
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Heard, Segment
from voicelog.recognition.segments import iter_segments
from voicelog.session.live.along import HearingAlong
from voicelog.session.live.likeness import Likeness
from voicelog.settings import read_settings
from voicelog.wiring.live import make_command_listener

DEMO = sorted((Path(__file__).parents[3] / "demo_data" / "recordings").glob("*.flac"))
BLOCK = SAMPLE_RATE_HZ // 10
LOOK_S = 0.005


def speak(along: HearingAlong, segment: Segment) -> Iterator[tuple[int, float]]:
    """Feed a note in real time; yield how many words were there first at which second."""
    began = time.monotonic()
    known = 0
    for first in range(0, len(segment.samples), BLOCK):
        block = segment.samples[first : first + BLOCK]
        due = began + (first + len(block)) / SAMPLE_RATE_HZ
        while (now := time.monotonic()) < due:
            count = len(along.words.split())
            if count > known:
                known = count
                yield count, now - began
            time.sleep(LOOK_S)
        along.push(block)


def measure(along: HearingAlong, listener: CommandListener, segment: Segment) -> list[float]:
    """Return by how much each word of a note was late; those that came with its end not."""
    stream = listener.open_stream()
    for first in range(0, len(segment.samples), BLOCK):
        stream.push(segment.samples[first : first + BLOCK])
    ends_s = [word.end_s or 0.0 for word in stream.finish()]
    return [
        at_s - ends_s[count - 1] for count, at_s in speak(along, segment) if count <= len(ends_s)
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure how soon words are there.")
    parser.add_argument("recordings", nargs="*", type=Path, default=DEMO[1:2])
    wanted = parser.parse_args()
    listener = make_command_listener(read_settings(environment={}))
    if listener is None:
        raise SystemExit("There is no small vosk model here, so nothing hears along.")
    along = HearingAlong(listener, Likeness(listener.wordings))
    along.start()
    late_s: list[float] = []
    answers_s: list[float] = []
    for recording in wanted.recordings:
        for segment in iter_segments(recording):
            late_s += measure(along, listener, segment)
            key = (recording.name, segment.start_s, segment.end_s)
            closed_at = time.monotonic()
            along.close(key)
            along.find_command(key, Heard(text="nothing"))
            answers_s.append(time.monotonic() - closed_at)
    along.finish()
    report("words while spoken", late_s)
    report("answer at the end", answers_s)
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


def report(what: str, seconds: list[float]) -> None:
    ordered = sorted(seconds)
    late = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    print(
        f"{what:20} {len(ordered):4}: median {statistics.median(ordered):.2f} s, "
        f"95th percentile {late:.2f} s, longest {ordered[-1]:.2f} s"
    )


if __name__ == "__main__":
    main()
