"""How fast the engines hear: seconds of work per second of sound, silence included.

    python -m tests.benchmarks.recognition.speed [RECORDING...]

Without recordings, the spoken notes of the tests are taken ten times over (5 minutes).
Prints the median, the least and the most of three runs. They depend on the machine and
on what else it is doing; processor time, summed over its cores, depends on it less.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from tests.recognition.conftest import HOT_WORDS
from tests.recognition.recordings import SPOKEN_NOTES
from voicelog.recognition.audio import probe_recording
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import find_models, model_folders
from voicelog.recognition.segments import iter_segments

RUNS = 3


def main(recordings: list[Path]) -> None:
    """Print the real-time factor of cutting and of each engine."""
    duration_s = sum(probe_recording(path).duration_s for path in recordings)
    segments = [segment for path in recordings for segment in iter_segments(path)]
    spoken_s = sum(segment.end_s - segment.start_s for segment in segments)
    print(f"{duration_s:.0f} s of sound, {len(segments)} notes, {spoken_s:.0f} s of them spoken")

    def cut() -> None:
        for path in recordings:
            for _ in iter_segments(path):
                pass

    _report("decoding and cutting", cut, duration_s)
    vosk_models = {model.name: model for model in find_models(model_folders())}
    for name, model in vosk_models.items():
        if model.engine == "vosk":
            vosk = VoskRecogniser(VoskOptions(model_folder=model.folder))
            _report(f"vosk, {name}", lambda: [vosk.recognise(s) for s in segments], duration_s)  # noqa: B023
            once = VoskRecogniser(VoskOptions(model_folder=model.folder, alternatives=0))
            _report(
                f"vosk, {name}, without other readings",
                lambda: [once.recognise(s) for s in segments],  # noqa: B023
                duration_s,
            )
    whisper = WhisperRecogniser(WhisperOptions(hot_words=HOT_WORDS))
    _report(
        f"whisper, {whisper.model}", lambda: [whisper.recognise(s) for s in segments], duration_s
    )


def _report(name: str, work: Callable[[], object], duration_s: float) -> None:
    factors, processor = [], []
    for _ in range(RUNS):
        begun, used = time.perf_counter(), time.process_time()
        work()
        factors.append((time.perf_counter() - begun) / duration_s)
        processor.append((time.process_time() - used) / duration_s)
    print(
        f"{name}: {statistics.median(factors):.3f} x real time "
        f"({min(factors):.3f} to {max(factors):.3f}), "
        f"{statistics.median(processor):.3f} s of processor time a second"
    )


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]] or [SPOKEN_NOTES] * 10)
