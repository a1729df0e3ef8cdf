"""A note is known before its pause has run out."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Segment
from voicelog.recognition.segments import NoteCutter, SegmentOptions

RECORDINGS = sorted((Path(__file__).parents[2] / "demo_data" / "recordings").glob("*.flac"))
BLOCK = SAMPLE_RATE_HZ // 20


@pytest.mark.parametrize("path", RECORDINGS[1:3], ids=lambda path: path.stem)
def test_what_was_foreseen_comes_if_nothing_more_is_said(path: Path) -> None:
    """The very same segment, a quarter of a second or more ahead."""
    sound = np.concatenate(list(iter_blocks(path)))
    cutter = NoteCutter(SegmentOptions())
    foreseen: tuple[Segment, int] | None = None
    closed = 0
    for start in range(0, len(sound), BLOCK):
        for segment in cutter.push(sound[start : start + BLOCK]):
            assert foreseen is not None
            expected, seen_at = foreseen
            assert (segment.start_s, segment.end_s) == (expected.start_s, expected.end_s)
            assert segment.speech == expected.speech
            assert np.array_equal(segment.samples, expected.samples)
            assert start - seen_at >= 0.25 * SAMPLE_RATE_HZ
            closed += 1
        segment_ahead = cutter.foresee()
        if segment_ahead is None:
            continue
        if foreseen is None or foreseen[0].end_s != segment_ahead.end_s:
            foreseen = (segment_ahead, start)
    assert closed >= 10


def test_nothing_is_foreseen_in_mid_word_or_in_silence() -> None:
    """Only a note whose last word lies as far back as the padding."""
    sound = np.concatenate(list(iter_blocks(RECORDINGS[1])))
    cutter = NoteCutter(SegmentOptions())
    assert cutter.foresee() is None
    list(cutter.push(np.zeros(SAMPLE_RATE_HZ, dtype=np.float32)))
    assert cutter.foresee() is None
    assert not cutter.is_in_note
    list(cutter.push(sound[: round(1.2 * SAMPLE_RATE_HZ)]))
    assert cutter.is_in_note
    assert cutter.foresee() is None


def test_a_click_is_not_foreseen_as_a_note() -> None:
    """What would not be cut is not foreseen either."""
    sound = np.concatenate(list(iter_blocks(RECORDINGS[1])))
    cutter = NoteCutter(SegmentOptions(min_speech_ms=60_000))
    for start in range(0, 10 * SAMPLE_RATE_HZ, BLOCK):
        assert list(cutter.push(sound[start : start + BLOCK])) == []
        assert cutter.foresee() is None
