"""Our own voice never becomes a note, and the handler's always does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.session.live.bench import spoken_sounds
from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.session.live.own_voice import OwnVoice, find_echo

ROOT = Path(__file__).parents[3]
PEOPLE = sorted((ROOT / "tests" / "reference" / "an4" / "flac").glob("*.flac"))[:20]
# What is "spoken back" here is a synthetic voice, the same that speaks to the handler.
OURS = [np.concatenate(spoken_sounds()[:2]), np.concatenate(spoken_sounds()[2:4])]
THRESHOLD = 14.0


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


def strength(heard: Samples, spoken: Samples) -> float:
    return find_echo(heard, spoken, offset_s=0).strength


def padded(sound: Samples, like: Samples) -> Samples:
    missing = max(0, len(like) + SAMPLE_RATE_HZ - len(sound))
    noise = np.random.default_rng(8).normal(0, 0.0003, len(sound) + missing)
    return (np.pad(sound, (0, missing)) + noise).astype(np.float32)


@pytest.mark.parametrize("loudness", [0.5, 0.1, 0.02])
@pytest.mark.parametrize("nth", [0, 1])
def test_our_voice_is_found_in_a_room(nth: int, loudness: float) -> None:
    """Loud or 34 dB below full scale."""
    assert strength(room(OURS[nth], loudness=loudness), OURS[nth]) > THRESHOLD


@pytest.mark.parametrize("path", PEOPLE, ids=lambda path: path.stem)
@pytest.mark.parametrize("nth", [0, 1])
def test_other_people_are_not_our_voice(nth: int, path: Path) -> None:
    """Spoken letters and numbers by people (AN4, Carnegie Mellon University)."""
    person = np.concatenate(list(iter_blocks(path)))
    assert strength(padded(person, OURS[nth]), OURS[nth]) < THRESHOLD


def test_silence_and_noise_are_not_our_voice() -> None:
    """A headset hears nothing of it."""
    noise = np.random.default_rng(9).normal(0, 0.01, 48_000).astype(np.float32)
    assert strength(noise, OURS[0]) < THRESHOLD
    assert strength(np.zeros(48_000, dtype=np.float32), OURS[0]) == 0


@pytest.mark.parametrize("delay_s", [0.15, 0.9, 1.7])
def test_only_its_own_stretch_is_silenced(delay_s: float) -> None:
    """However long it was on its way, what the handler says before and after stays."""
    before, after = spoken_sounds()[4], spoken_sounds()[5]
    echo = room(OURS[0], loudness=0.3)[round(0.15 * SAMPLE_RATE_HZ) :]
    gap = np.zeros(round(0.6 * SAMPLE_RATE_HZ), dtype=np.float32)
    heard = np.concatenate([before, gap, echo, gap, after])
    echo_at_s = (len(before) + len(gap)) / SAMPLE_RATE_HZ
    own_voice = OwnVoice()
    own_voice.begin(OURS[0], at=100.0 + echo_at_s - delay_s)
    own_voice.end(at=100.0 + echo_at_s - delay_s + len(OURS[0]) / SAMPLE_RATE_HZ)
    rest = own_voice.silence_in(heard, first_at=100.0)
    assert np.array_equal(rest[: len(before)], before)
    assert np.array_equal(rest[-len(after) :], after)
    ours = rest[len(before) + len(gap) :][: len(OURS[0])]
    assert not ours.any()


def test_a_handler_with_a_headset_loses_nothing() -> None:
    """What is said while our voice speaks in the ear comes through untouched."""
    person = np.concatenate(list(iter_blocks(PEOPLE[0])))
    own_voice = OwnVoice()
    own_voice.begin(OURS[0], at=100.0)
    own_voice.end(at=106.0)
    assert np.array_equal(own_voice.silence_in(person, first_at=100.2), person)


def test_it_knows_when_it_may_be_heard() -> None:
    """From the first sample to the end of the echo."""
    own_voice = OwnVoice()
    own_voice.begin(OURS[0], at=100.0)
    assert not own_voice.may_sound(99.0, 99.9)
    assert own_voice.may_sound(99.9, 100.1)
    assert own_voice.may_sound(150.0, 150.1)
    own_voice.end(at=104.0)
    assert own_voice.may_sound(105.9, 106.0)
    assert not own_voice.may_sound(106.1, 106.2)
