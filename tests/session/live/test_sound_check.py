from __future__ import annotations

import numpy as np
import pytest

from tests.recognition.recordings import SPOKEN_NOTES, read_sound
from voicelog.cli.microphone_trial import describe
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.session.live.sound_check import Verdict, check_sound

SPEAKERS = (
    "an101-mrcb-b",
    "an107-mdxn-b",
    "an116-fmjc-b",
    "an147-fclc-b",
    "an166-fsrb-b",
    "an188-mkem-b",
)


def read_speaker(name: str) -> Samples:
    """Three seconds and more of a person who spells or counts: tests/reference/an4."""
    folder = SPOKEN_NOTES.parents[2] / "reference" / "an4" / "flac"
    said = read_sound(folder / f"{name}.flac")
    padded = np.pad(said, (0, max(0, 3 * SAMPLE_RATE_HZ - len(said))))
    return add_noise(padded, level=0.0003)


def add_noise(samples: Samples, *, level: float) -> Samples:
    noise = np.random.default_rng(3).normal(0, level, len(samples))
    return (samples + noise).astype(np.float32)


def add_hum(samples: Samples, *, mains_hz: float, level: float) -> Samples:
    """A tone of the mains with two of its harmonics, as a bad cable gives it."""
    t = np.arange(len(samples)) / SAMPLE_RATE_HZ
    hum = sum(np.sin(2 * np.pi * mains_hz * nth * t) / nth for nth in (1, 2, 3))
    return (samples + level * hum).astype(np.float32)


@pytest.mark.parametrize("name", SPEAKERS)
class TestRealSpeakers:
    """Real people, and what can be wrong with the same words."""

    def test_clear_speech_is_called_clear(self, name: str) -> None:
        assert check_sound(read_speaker(name)).verdict is Verdict.CLEAR

    def test_forty_db_less_is_too_quiet(self, name: str) -> None:
        assert check_sound(read_speaker(name) / 100).verdict is Verdict.TOO_QUIET

    def test_cut_off_peaks_are_clipping(self, name: str) -> None:
        loud = np.clip(read_speaker(name) * 40, -1, 1)
        assert check_sound(loud).verdict is Verdict.CLIPPING

    @pytest.mark.parametrize("mains_hz", [50, 60])
    def test_mains_beneath_the_voice_are_hum(self, name: str, mains_hz: int) -> None:
        humming = add_hum(read_speaker(name), mains_hz=mains_hz, level=0.04)
        assert check_sound(humming).verdict is Verdict.HUM

    def test_a_loud_room_is_noisy(self, name: str) -> None:
        assert check_sound(add_noise(read_speaker(name), level=0.03)).verdict is Verdict.NOISY


SILENCE = np.zeros(3 * SAMPLE_RATE_HZ, dtype=np.float32)


def test_not_even_noise_is_nothing() -> None:
    assert check_sound(SILENCE).verdict is Verdict.NOTHING


def test_sound_without_speech_may_be_the_wrong_device() -> None:
    check = check_sound(add_noise(SILENCE, level=0.02))
    assert check.verdict is Verdict.NO_SPEECH
    assert "wrong device" in describe(check, microphone="desk microphone")


def test_hum_alone_is_hum() -> None:
    assert check_sound(add_hum(SILENCE, mains_hz=50, level=0.04)).verdict is Verdict.HUM


@pytest.mark.parametrize("verdict", list(Verdict))
def test_every_verdict_has_its_sentence(verdict: Verdict) -> None:
    check = check_sound(read_speaker(SPEAKERS[0]))
    sentence = describe(
        type(check)(verdict=verdict, speech_s=2.0, speech_db=-30.0, noise_db=None, hum_share=0.0),
        microphone="desk microphone",
    )
    assert sentence.endswith(".")
    assert "None" not in sentence
