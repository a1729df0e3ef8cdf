"""Our own voice never becomes a note, and the handler's always does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.session.live.bench import spoken_sounds
from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.session.live.own_voice import OwnVoice, echo_strength

ROOT = Path(__file__).parents[3]
PEOPLE = sorted((ROOT / "tests" / "reference" / "an4" / "flac").glob("*.flac"))[:20]
# What is "spoken back" here is a synthetic voice, the same that speaks to the handler.
OURS = [np.concatenate(spoken_sounds()[:2]), np.concatenate(spoken_sounds()[2:4])]
THRESHOLD = 8.5


def room(sound: Samples, *, loudness: float, noise: float = 0.0003) -> Samples:
    """Return what a microphone hears of a loudspeaker 20 cm away in a room.

    Exponential decay of 0.3 s (Sabine), a direct path, 150 ms of buffers in between.
    """
    random = np.random.default_rng(7)
    tail_s = 0.3
    decay = np.exp(-6.9 * np.arange(round(tail_s * SAMPLE_RATE_HZ)) / (tail_s * SAMPLE_RATE_HZ))
    response = random.normal(0, 0.3, len(decay)) * decay
    response[0] = 1.0
    heard = np.convolve(sound, response)
    heard = np.pad(heard * loudness / np.abs(heard).max(), (round(0.15 * SAMPLE_RATE_HZ), 4000))
    return (heard + random.normal(0, noise, len(heard))).astype(np.float32)


def padded(sound: Samples, like: Samples) -> Samples:
    missing = max(0, len(like) + SAMPLE_RATE_HZ - len(sound))
    noise = np.random.default_rng(8).normal(0, 0.0003, len(sound) + missing)
    return (np.pad(sound, (0, missing)) + noise).astype(np.float32)


@pytest.mark.parametrize("loudness", [0.5, 0.1, 0.02])
@pytest.mark.parametrize("nth", [0, 1])
def test_our_voice_is_found_in_a_room(nth: int, loudness: float) -> None:
    """Loud or 34 dB below full scale."""
    assert echo_strength(room(OURS[nth], loudness=loudness), OURS[nth], offset_s=0) > THRESHOLD


@pytest.mark.parametrize("path", PEOPLE, ids=lambda path: path.stem)
@pytest.mark.parametrize("nth", [0, 1])
def test_other_people_are_not_our_voice(nth: int, path: Path) -> None:
    """Spoken letters and numbers by people (AN4, Carnegie Mellon University)."""
    person = np.concatenate(list(iter_blocks(path)))
    assert echo_strength(padded(person, OURS[nth]), OURS[nth], offset_s=0) < THRESHOLD


def test_silence_and_noise_are_not_our_voice() -> None:
    """A headset hears nothing of it."""
    noise = np.random.default_rng(9).normal(0, 0.01, 48_000).astype(np.float32)
    assert echo_strength(noise, OURS[0], offset_s=0) < THRESHOLD
    assert echo_strength(np.zeros(48_000, dtype=np.float32), OURS[0], offset_s=0) == 0


def test_it_is_found_wherever_the_stretch_begins() -> None:
    """What is held back may begin before our voice did, or a moment after."""
    heard = room(OURS[0], loudness=0.3)
    own_voice = OwnVoice()
    own_voice.begin(OURS[0], at=100.0)
    own_voice.end(at=100.0 + len(OURS[0]) / SAMPLE_RATE_HZ)
    early = np.pad(heard, (SAMPLE_RATE_HZ // 2, 0))
    assert own_voice.is_heard_in(early, first_at=99.5)
    assert own_voice.is_heard_in(heard[3200:], first_at=100.2)


def test_it_knows_when_it_may_be_heard() -> None:
    """From the first sample to the end of the echo."""
    own_voice = OwnVoice()
    own_voice.begin(OURS[0], at=100.0)
    assert not own_voice.may_sound(99.0, 99.9)
    assert own_voice.may_sound(99.9, 100.1)
    assert own_voice.may_sound(150.0, 150.1)
    own_voice.end(at=104.0)
    assert own_voice.may_sound(104.3, 104.4)
    assert not own_voice.may_sound(104.5, 104.6)
