"""Many recordings at once: time, efficiency against the bare recogniser, and memory.

    python -m tests.benchmarks.bulk.speed FOLDER [--recordings 60] [--jobs 1 2] [--tiny]

Makes recordings out of the notes of the demo recordings, each with other bytes; hears the notes
with the bare recogniser in one process; then has `voicelog transcribe` take all of them in, with
each number of jobs, into a log of its own. Processor time, unlike time by the clock, hardly depends
on what else the machine does; both are given, with the load. --tiny takes the shortest notes only.
"""

from __future__ import annotations

import argparse
import itertools
import os
import platform
import resource
import shutil
import subprocess
import sys
import time
import wave
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicelog.domain.note import Note
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples, Segment
from voicelog.recognition.segments import iter_segments
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.bulk import share_threads
from voicelog.wiring.hearing import make_recogniser

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "demo_data" / "recordings"
TINY_S = 2.4
_SAMPLE_S = 0.25
_MIB = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What one run of voicelog came to."""

    jobs: int
    wall_s: float
    processor_s: float
    notes: int
    largest_hearing_bytes: int
    total_bytes: int
    load: float


def main() -> None:
    """Measure and print a table in Markdown."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where recordings and logs go; emptied first")
    parser.add_argument("--recordings", type=int, default=60)
    parser.add_argument("--jobs", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--engine", default="vosk")
    parser.add_argument("--tiny", action="store_true")
    given = parser.parse_args()
    shutil.rmtree(given.folder, ignore_errors=True)
    segments = list(_demo_segments(tiny=given.tiny))
    count = given.recordings
    paths = _make_recordings(given.folder / "recordings", segments, count)
    sound_s = sum(_length_s(path) for path in paths)
    bare_s = _hear_bare(segments, given.engine) * count / len(segments)
    print(
        f"{count} recordings, {sound_s:.0f} s of sound, engine {given.engine}; the bare recogniser "
        f"takes {bare_s:.1f} s of processor time, {bare_s / sound_s:.3f} of the sound. "
        f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores.\n"
    )
    print(
        "| jobs | wall time | real-time factor | processor time | of it bare recogniser | beside "
        "it, per recording | largest hearing process | all processes | load | notes |\n"
        "|---|---|---|---|---|---|---|---|---|---|"
    )
    for jobs in given.jobs:
        run = _run(given.folder / f"log{jobs}", paths, jobs=jobs, engine=given.engine)
        print(
            f"| {run.jobs} | {run.wall_s:.0f} s | {run.wall_s / sound_s:.3f} | "
            f"{run.processor_s:.0f} s | {100 * bare_s / run.processor_s:.0f} % | "
            f"{1000 * (run.processor_s - bare_s) / count:.0f} ms | "
            f"{run.largest_hearing_bytes / _MIB:.0f} MiB | {run.total_bytes / _MIB:.0f} MiB | "
            f"{run.load:.1f} | {run.notes} |",
            flush=True,
        )


def _demo_segments(*, tiny: bool) -> Iterator[Segment]:
    for path in sorted(DEMO.glob("*.flac")):
        for segment in iter_segments(path):
            if not tiny or segment.end_s - segment.start_s < TINY_S:
                yield segment


def _make_recordings(folder: Path, segments: list[Segment], count: int) -> list[Path]:
    folder.mkdir(parents=True)
    paths = []
    for number, segment in zip(range(count), itertools.cycle(segments)):
        # A silence that is a few samples longer each time: other bytes, the same words.
        silence = np.zeros(SAMPLE_RATE_HZ // 2 + number, dtype=np.float32)
        path = folder / f"REC{number + 1}.wav"
        _write_wav(path, np.concatenate([segment.samples, silence]))
        paths.append(path)
    return paths


def _write_wav(path: Path, samples: Samples) -> None:
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(SAMPLE_RATE_HZ)
        out.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())


def _length_s(path: Path) -> float:
    with wave.open(str(path)) as file:
        return file.getnframes() / file.getframerate()


def _hear_bare(segments: list[Segment], engine: str) -> float:
    """Return the processor time that the recogniser alone takes for the notes, once each."""
    settings = share_threads(read_settings(overrides={"engine": engine}), os.cpu_count() or 1)
    recogniser = make_recogniser(settings, load_vocabulary())
    recogniser.recognise(segments[0])
    began_s = time.process_time()
    for segment in segments:
        recogniser.recognise(segment)
    return time.process_time() - began_s


def _run(log: Path, paths: list[Path], *, jobs: int, engine: str) -> Run:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    began_s = time.monotonic()
    command = [
        *(sys.executable, "-m", "voicelog", "transcribe", *map(str, paths)),
        *("--log", str(log), "--jobs", str(jobs), "--engine", engine),
    ]
    with (log.parent / f"said{jobs}.txt").open("wb") as said:
        running = subprocess.Popen(
            command,
            stdout=subprocess.DEVNULL,
            stderr=said,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        largest = total = 0
        loads = []
        while running.poll() is None:
            own, hearing = _memory_bytes(running.pid)
            largest = max(largest, *hearing, 0)
            total = max(total, own + sum(hearing))
            loads.append(os.getloadavg()[0])
            time.sleep(_SAMPLE_S)
    if running.returncode:
        raise SystemExit(f"voicelog ended with {running.returncode}; see {said.name}")
    wall_s = time.monotonic() - began_s
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    with Log.open(log) as opened:
        notes: list[Note] = list(opened.iter_notes())
    return Run(
        jobs=jobs,
        wall_s=wall_s,
        processor_s=after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime,
        notes=len(notes),
        largest_hearing_bytes=largest,
        total_bytes=total,
        load=sum(loads) / len(loads),
    )


def _memory_bytes(pid: int) -> tuple[int, list[int]]:
    """Return the memory of a process and of each that it started, without shared pages twice."""
    children = []
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        try:
            children += [int(child) for child in task.read_text().split()]
        except OSError:
            continue
    return _own_bytes(pid), [_own_bytes(child) for child in children]


def _own_bytes(pid: int) -> int:
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0
    return sum(int(line.split()[1]) * 1024 for line in lines if line.startswith("Pss:"))


if __name__ == "__main__":
    main()
