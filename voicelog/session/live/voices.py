"""An offline voice that reads back: whichever of those we know is on this machine."""

from __future__ import annotations

import importlib.util
import io
import shutil
import subprocess
import wave
from typing import Any, Protocol

import numpy as np

from voicelog.session.live.sounds import Sound

_ESPEAK = "espeak-ng"
_LONGEST_WAIT_S = 20
_SPEED_WORDS_A_MINUTE = 150


class Voice(Protocol):
    """Anything that turns a sentence into sound, on this machine alone."""

    @property
    def name(self) -> str:
        """What the voice is called."""

    def speak(self, text: str) -> Sound | None:
        """Return the sentence as sound; None where this voice can't say it."""


def find_voice() -> Voice | None:
    """Return the best voice on this machine, or None where there is none."""
    if importlib.util.find_spec("hibari") is not None:
        return HibariVoice()
    program = shutil.which(_ESPEAK)
    return EspeakVoice(program) if program else None


class HibariVoice:
    """The voice that ships inside hibari-tts; it is loaded when it first speaks."""

    name = "hibari"

    def __init__(self) -> None:
        self._hibari: Any = None
        self._sample_rate_hz = 0

    def speak(self, text: str) -> Sound | None:
        """Return the sentence as sound."""
        if self._hibari is None:
            # Half a second, which only a session that is spoken to back may cost.
            from hibari import SAMPLE_RATE, Hibari  # noqa: PLC0415

            self._hibari, self._sample_rate_hz = Hibari(), SAMPLE_RATE
        samples = np.asarray(self._hibari(text, seed=0), dtype=np.float32)
        return Sound(samples=np.clip(samples, -1, 1), sample_rate_hz=self._sample_rate_hz)


class EspeakVoice:
    """The espeak-ng program, asked for one sentence at a time."""

    name = _ESPEAK

    def __init__(self, program: str) -> None:
        self._program = program

    def speak(self, text: str) -> Sound | None:
        """Return the sentence as sound; None when the program fails."""
        arguments = [self._program, "--stdout", "--stdin", "-v", "en"]
        arguments += ["-s", str(_SPEED_WORDS_A_MINUTE)]
        try:
            # No shell, and the text goes in by standard input: it can't become an option.
            done = subprocess.run(  # noqa: S603
                arguments,
                input=text.encode(),
                capture_output=True,
                timeout=_LONGEST_WAIT_S,
                check=False,
            )
        except (OSError, subprocess.TimeoutExpired):
            return None
        return _read_wav(done.stdout) if done.returncode == 0 else None


def _read_wav(data: bytes) -> Sound | None:
    try:
        with wave.open(io.BytesIO(data)) as file:
            rate_hz, width = file.getframerate(), file.getsampwidth()
            # espeak-ng writes to a pipe before it knows the length and overstates it.
            frames = file.readframes(file.getnframes())
    except (wave.Error, EOFError):
        return None
    if width != 2:
        return None
    samples = np.frombuffer(frames[: len(frames) // 2 * 2], dtype="<i2").astype(np.float32)
    return Sound(samples=samples / np.float32(32768), sample_rate_hz=rate_hz)
