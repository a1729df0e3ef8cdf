"""A note ends where the speaker pauses, and no word is cut."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from faster_whisper.vad import get_vad_model  # type: ignore[import-untyped]

from voicelog.errors import UnreadableRecording
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples, Segment
from voicelog.recognition.segments import NoteCutter, SegmentOptions, iter_segments, locate_speech
from voicelog.recognition.speech import FRAME_SAMPLES, SpeechDetector

from .noises import KINDS, LEVELS_DB, make_noise
from .recordings import SPOKEN_LINES, SPOKEN_NOTES, read_sound, write_recording


def cut(
    samples: Samples, options: SegmentOptions | None = None, *, block: int = 80_000
) -> list[Segment]:
    cutter = NoteCutter(options or SegmentOptions())
    segments: list[Segment] = []
    for start in range(0, len(samples), block):
        segments.extend(cutter.push(samples[start : start + block]))
    return [*segments, *cutter.finish()]


def find_said(samples: Samples) -> list[tuple[float, float]]:
    """Return where something was said, by loudness alone: an answer from another method.

    The recording's silence is a converter's last bit, so that every sound stands out.
    """
    hop = SAMPLE_RATE_HZ // 100
    loud = np.abs(samples[: len(samples) // hop * hop]).reshape(-1, hop).max(axis=1) > 0.003
    edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(int), [0]])))
    runs = [(first / 100, last / 100) for first, last in edges.reshape(-1, 2)]
    said = [runs[0]]
    for first, last in runs[1:]:
        if first - said[-1][1] < 0.9:
            said[-1] = (said[-1][0], last)
        else:
            said.append((first, last))
    return said


class TestNotes:
    def test_every_note_is_one_segment_with_all_its_sound(self) -> None:
        """Loudness finds the same notes; each lies whole inside its segment."""
        said = find_said(read_sound(SPOKEN_NOTES))
        segments = list(iter_segments(SPOKEN_NOTES))
        assert len(said) == len(segments) == len(SPOKEN_LINES)
        for (first_s, last_s), segment in zip(said, segments, strict=True):
            assert segment.start_s <= first_s - 0.05
            assert segment.end_s >= last_s + 0.05

    @pytest.mark.parametrize(
        ("name", "codec", "rate_hz", "layout"),
        [
            ("telephone.wav", "pcm_mulaw", 8_000, "mono"),
            ("disc.flac", "flac", 44_100, "stereo"),
            ("portable.mp3", "libmp3lame", 44_100, "stereo"),
            ("mobile.m4a", "aac", 44_100, "stereo"),
            ("net.opus", "libopus", 48_000, "mono"),
        ],
    )
    def test_the_recorder_makes_no_difference(
        self, name: str, codec: str, rate_hz: int, layout: str, tmp_path: Path
    ) -> None:
        """Telephone sound, compressed sound: the same notes within a fifth of a second."""
        path = write_recording(
            tmp_path / name, read_sound(SPOKEN_NOTES), codec=codec, rate_hz=rate_hz, layout=layout
        )
        plain = list(iter_segments(SPOKEN_NOTES))
        other = list(iter_segments(path))
        assert len(other) == len(plain)
        for one, two in zip(plain, other, strict=True):
            assert two.start_s == pytest.approx(one.start_s, abs=0.2)
            assert two.end_s == pytest.approx(one.end_s, abs=0.2)

    @pytest.mark.parametrize("level_db", [-20, -40, -50])
    def test_a_low_recording_level_loses_no_note(self, level_db: int) -> None:
        """50 dB below the original, all notes are still found."""
        quiet = read_sound(SPOKEN_NOTES) * np.float32(10 ** (level_db / 20))
        assert len(cut(quiet)) == len(SPOKEN_LINES)

    def test_samples_are_the_recordings_own(self) -> None:
        """A segment is a copy of the sound between its times, nothing raised or smoothed."""
        whole = read_sound(SPOKEN_NOTES)
        for segment in iter_segments(SPOKEN_NOTES):
            first = round(segment.start_s * SAMPLE_RATE_HZ)
            assert np.array_equal(segment.samples, whole[first : first + len(segment.samples)])
            assert len(segment.samples) / SAMPLE_RATE_HZ == pytest.approx(
                segment.end_s - segment.start_s, abs=1e-3
            )

    def test_the_size_of_the_blocks_makes_no_difference(self) -> None:
        """A microphone's tiny blocks and a file's large ones give the same notes."""
        sound = read_sound(SPOKEN_NOTES)[: 14 * SAMPLE_RATE_HZ]
        times = [
            [(segment.start_s, segment.end_s, segment.speech) for segment in cut(sound, block=size)]
            for size in (700, 16_000, len(sound))
        ]
        assert times[0] == times[1] == times[2]


class TestPauses:
    def speech_with_pause(self, pause_s: float) -> Samples:
        sound = read_sound(SPOKEN_NOTES)
        pieces = [
            sound[round(first * SAMPLE_RATE_HZ) : round(last * SAMPLE_RATE_HZ)]
            for first, last in find_said(sound)[1:3]
        ]
        silence = np.zeros(SAMPLE_RATE_HZ, dtype=np.float32)
        pause = np.zeros(round(pause_s * SAMPLE_RATE_HZ), dtype=np.float32)
        return np.concatenate([silence, pieces[0], pause, pieces[1], silence])

    @pytest.mark.parametrize(("pause_s", "notes"), [(0.3, 1), (0.5, 1), (0.8, 2), (1.5, 2)])
    def test_a_pause_of_seven_tenths_ends_a_note(self, pause_s: float, notes: int) -> None:
        assert len(cut(self.speech_with_pause(pause_s))) == notes

    def test_the_pause_is_a_setting(self) -> None:
        assert len(cut(self.speech_with_pause(0.8), SegmentOptions(pause_ms=1500))) == 1

    def test_a_long_note_is_cut_in_its_pauses(self) -> None:
        """Half a minute and more without a full pause: pieces of at most 28 s, none lost."""
        sound = read_sound(SPOKEN_NOTES)
        short = np.zeros(SAMPLE_RATE_HZ * 2 // 5, dtype=np.float32)
        parts = [
            part
            for first, last in find_said(sound) * 3
            for part in (sound[round(first * 16_000) : round(last * 16_000)], short)
        ]
        # The file's own inner pauses of more than 0.7 s are not wanted here.
        options = SegmentOptions(pause_ms=2000, padding_ms=300)
        long_note = np.concatenate(parts)
        segments = cut(long_note, options)
        assert len(segments) >= 2
        assert all(len(segment.samples) <= 28.0 * SAMPLE_RATE_HZ for segment in segments)
        for before, after in itertools.pairwise(segments):
            assert before.end_s == after.start_s
            at = round(before.end_s * SAMPLE_RATE_HZ)
            assert np.abs(long_note[at - 800 : at + 800]).max() < 0.003, "cut inside a word"
        assert segments[-1].end_s == pytest.approx(len(long_note) / SAMPLE_RATE_HZ, abs=0.5)

    def test_speech_without_any_pause_is_cut_all_the_same(self) -> None:
        """Nobody speaks so; the recogniser's 30 s must hold even then."""
        sound = read_sound(SPOKEN_NOTES)
        first, last = find_said(sound)[1]
        word = sound[round(first * 16_000) : round(last * 16_000)]
        segments = cut(np.tile(word, 40))
        assert all(len(segment.samples) <= 28.0 * SAMPLE_RATE_HZ for segment in segments)
        assert sum(segment.end_s - segment.start_s for segment in segments) > 35


class TestNobodySpeaks:
    def test_noise_holds_no_note(self) -> None:
        """Of 24 minutes of room noise at four levels, less than 5 s are taken for speech."""
        taken_s = {
            (kind, level_db): sum(
                segment.end_s - segment.start_s
                for segment in cut(
                    make_noise(kind, seconds=30, level_db=level_db, seed=level_db + 99)
                )
            )
            for kind in KINDS
            for level_db in LEVELS_DB
        }
        assert sum(taken_s.values()) < 5.0, taken_s

    def test_silence_holds_no_note(self) -> None:
        assert cut(np.zeros(20 * SAMPLE_RATE_HZ, dtype=np.float32)) == []

    def test_an_unusable_file_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(UnreadableRecording, match="does not exist"):
            list(iter_segments(tmp_path / "none.flac"))


class TestDetector:
    def test_block_by_block_gives_what_the_library_gives_at_once(self) -> None:
        """faster-whisper's own whole-file wrapper is the reference.

        The tone before it sets the level, so that nothing is raised. The last frame is
        left out: the wrapper blanks what comes before it.
        """
        sound = read_sound(SPOKEN_NOTES)[: FRAME_SAMPLES * 300]
        loud = np.tile(np.array([0.9, -0.9], dtype=np.float32), FRAME_SAMPLES // 2)
        sound = np.concatenate([loud, sound * 0.999])
        expected = get_vad_model()(sound).reshape(-1)
        detector = SpeechDetector()
        found = np.concatenate(
            [
                detector.probabilities(sound[start : start + 7 * FRAME_SAMPLES])
                for start in range(0, len(sound), 7 * FRAME_SAMPLES)
            ]
        )
        assert np.allclose(found[:-1], expected[:-1], atol=1e-4)

    def test_a_segment_from_elsewhere_is_listened_to(self) -> None:
        """Without the cutter's findings the detector itself says where speech is."""
        segment = next(iter_segments(SPOKEN_NOTES))
        bare = Segment(samples=segment.samples, start_s=100.0, end_s=106.0)
        found = locate_speech(bare)
        known = locate_speech(segment)
        assert found[0].start_s == pytest.approx(known[0].start_s, abs=0.15)
        assert found[-1].end_s == pytest.approx(known[-1].end_s, abs=0.15)
