"""Whether the libraries that hear run on a processor without AVX, tried on an emulated one.

    apt-get install qemu-user
    python -m tests.benchmarks.recognition.old_processor [CPU ...]

Runs this interpreter under ``qemu-x86_64 -cpu CPU`` (Nehalem is of 2008: SSE4.2, no AVX): vosk
hears a second of noise, CTranslate2 (whisper) names its kernels, ONNX Runtime runs the
speech detector. A library that needs more than the processor has ends with SIGILL.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from voicelog.recognition.models import find_models, model_folders

_PROGRAMS = {
    "vosk": """
import numpy, vosk
vosk.SetLogLevel(-1)
ear = vosk.KaldiRecognizer(vosk.Model(MODEL), 16000)
noise = numpy.random.default_rng(1).normal(0, 3000, 16000).astype("<i2")
ear.AcceptWaveform(noise.tobytes())
ear.FinalResult()
""",
    "CTranslate2": """
import ctranslate2
assert "int8" in ctranslate2.get_supported_compute_types("cpu")
""",
    "ONNX Runtime": """
import numpy
from voicelog.recognition.speech import SpeechDetector
SpeechDetector().probabilities(numpy.zeros(512, dtype=numpy.float32))
""",
}


def main(processors: list[str]) -> None:
    """Print how each library fared on each processor."""
    models = {model.name: model for model in find_models(model_folders())}
    begin = f"import sys; sys.path[:0] = {sys.path!r}; MODEL = {str(models['vosk-bench'].folder)!r}"
    python = Path(sys.executable).resolve()
    for processor in processors:
        for library, program in _PROGRAMS.items():
            command = ["qemu-x86_64", "-cpu", processor, python, "-c", f"{begin}\n{program}"]
            done = subprocess.run(command, check=False, capture_output=True, text=True)
            how = "runs" if done.returncode == 0 else f"ends with {done.returncode}"
            print(f"{processor}, {library}: {how}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or ["Nehalem"])
