"""Whether the recognisers run on a processor without AVX, tried on an emulated one.

    apt-get install qemu-user
    python -m tests.benchmarks.recognition.old_processor [CPU ...]

Runs this interpreter under ``qemu-x86_64 -cpu CPU`` (Nehalem is of 2008: SSE4.2, no AVX) and has
each engine hear one note of a recording. Emulated, that takes minutes.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

_PROGRAM = """
import sys
from tests.recognition.recordings import SPOKEN_NOTES
from voicelog.recognition.segments import iter_segments
from voicelog.settings import read_settings
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.hearing import make_recogniser
settings = read_settings(environment={}, overrides={"engine": sys.argv[1], "threads": 1})
ear = make_recogniser(settings, load_vocabulary())
_, note, *_ = iter_segments(SPOKEN_NOTES)
print(ear.recognise(note).text)
"""


def main(processors: list[str]) -> None:
    """Print what each engine hears on each processor, or how it ended."""
    for processor in processors:
        for engine in ("vosk", "whisper"):
            done = subprocess.run(
                ["qemu-x86_64", "-cpu", processor, Path(sys.executable).resolve(), "-c",
                 f"import sys; sys.path[:0] = {sys.path!r}\n{_PROGRAM}", engine],
                check=False, capture_output=True, text=True,
            )  # fmt: skip
            said = done.stdout.strip() if not done.returncode else f"ended with {done.returncode}"
            print(f"{processor}, {engine}: {said}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or ["Nehalem"])
