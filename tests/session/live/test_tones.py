"""Tones say what happened, to ears alone."""

from __future__ import annotations

import itertools

import av
import numpy as np
import pytest

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.recognition.speech import FRAME_SAMPLES, SpeechDetector
from voicelog.session.live.tones import TONE_RATE_HZ, Tone, make_tone

# Half an octave: nobody takes one for the other (common practice, no published source).
FAR_APART = 2**0.5


def pulses(tone: Tone) -> list[tuple[float, float]]:
    """Measure the pulses of a tone in its sound: pitch in Hz and length in seconds."""
    samples = make_tone(tone).samples
    window = round(0.004 * TONE_RATE_HZ)
    loudness = np.convolve(np.abs(samples), np.ones(window) / window, mode="same")
    edges = np.flatnonzero(np.diff(np.pad(loudness > 0.05, 1).astype(int)))
    found = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        part = samples[first:last]
        spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 1 << 18))
        pitch = float(spectrum.argmax()) * TONE_RATE_HZ / (1 << 18)
        found.append((pitch, len(part) / TONE_RATE_HZ))
    return found


def test_taken_down_is_short_and_high_and_doubtful_long_and_low() -> None:
    """The two that come all day differ in height, in length and in number."""
    ((high_hz, short_s),) = pulses(Tone.TAKEN_DOWN)
    doubtful = pulses(Tone.DOUBTFUL)
    assert len(doubtful) == 2
    assert all(high_hz / pitch_hz >= FAR_APART for pitch_hz, _ in doubtful)
    assert all(length_s / short_s >= 2 for _, length_s in doubtful)


def test_pausing_falls_and_resuming_rises() -> None:
    """One tone in two directions."""
    falling = [pitch for pitch, _ in pulses(Tone.PAUSED)]
    rising = [pitch for pitch, _ in pulses(Tone.RESUMED)]
    assert all(first > second for first, second in itertools.pairwise(falling))
    assert rising == pytest.approx(falling[::-1], rel=0.01)


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(Tone, 2)))
def test_any_two_differ_in_more_than_pitch(one: Tone, other: Tone) -> None:
    """In the number of pulses, in which way they go, or in length by a half and more."""
    shapes = []
    for tone in (one, other):
        found = pulses(tone)
        rises = [int(np.sign(round(b[0] - a[0], -1))) for a, b in itertools.pairwise(found)]
        shapes.append((len(found), rises, make_tone(tone).duration_s))
    (count, rises, length), (other_count, other_rises, other_length) = shapes
    ratio = max(length, other_length) / min(length, other_length)
    assert count != other_count or rises != other_rises or ratio >= 1.5


@pytest.mark.parametrize("tone", Tone)
def test_a_tone_is_no_longer_than_the_note_after_it_can_wait(tone: Tone) -> None:
    """Trouble may take its time, the others are over within two thirds of a second."""
    assert make_tone(tone).duration_s <= (1.5 if tone is Tone.TROUBLE else 0.67)


@pytest.mark.parametrize("tone", Tone)
def test_no_tone_is_loud_or_clicks(tone: Tone) -> None:
    """It stays within full scale, and begins and ends in silence."""
    samples = make_tone(tone).samples
    assert np.abs(samples).max() <= 0.61
    assert np.abs(samples[[0, -1]]).max() < 0.01
    # A sine of 0.6 at 1760 Hz moves by 0.138 from one sample to the next.
    assert np.abs(np.diff(samples)).max() < 0.14


@pytest.mark.parametrize("noise", [0.0, 0.001, 0.01])
@pytest.mark.parametrize("level", [1.0, 0.3, 0.1, 0.03, 0.01])
@pytest.mark.parametrize("tone", Tone)
def test_the_detector_hears_no_speech_in_a_tone(tone: Tone, level: float, noise: float) -> None:
    """However near the loudspeaker is: a tone never becomes a note."""
    sound = _at_16_khz(make_tone(tone).samples) * level
    sound = np.pad(sound, SAMPLE_RATE_HZ).astype(np.float32)
    sound += np.random.default_rng(2031).normal(0, noise, len(sound)).astype(np.float32)
    whole = len(sound) // FRAME_SAMPLES * FRAME_SAMPLES
    assert SpeechDetector().probabilities(sound[:whole]).max() < 0.35


def test_the_volume_is_a_share_of_the_loudness() -> None:
    """100 per cent is the tone itself, 0 is silence."""
    tone = make_tone(Tone.TROUBLE)
    assert np.array_equal(tone.at_volume(100).samples, tone.samples)
    assert tone.at_volume(50).samples == pytest.approx(tone.samples / 2)
    assert not tone.at_volume(0).samples.any()


def _at_16_khz(samples: Samples) -> Samples:
    frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), format="fltp", layout="mono")
    frame.sample_rate = TONE_RATE_HZ
    resampler = av.AudioResampler(format="fltp", layout="mono", rate=SAMPLE_RATE_HZ)
    frames = (*resampler.resample(frame), *resampler.resample(None))
    return np.concatenate([one.to_ndarray()[0] for one in frames])
