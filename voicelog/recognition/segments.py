"""A recording cut into notes: a note ends where the speaker pauses.

The cutter works on a stream: it holds no more than the note that is being spoken, so
an hour of recording takes the same memory as a minute, and a microphone can feed it
just as well as a file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicelog.recognition.audio import OnDamage, iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples, Segment, Stretch
from voicelog.recognition.speech import FRAME_S, FRAME_SAMPLES, SpeechDetector


@dataclass(frozen=True, slots=True, kw_only=True)
class SegmentOptions:
    """How speech is cut into notes.

    Attributes:
        pause_ms: a silence this long ends a note.
        padding_ms: sound kept before and after the detected speech, so that soft
            first and last sounds are not clipped; at most half a pause is used.
        min_speech_ms: less speech than this is a click or a knock, not a note.
        max_note_s: a longer note is cut at its longest inner pause; the recogniser
            hears at most 30 s at a time.
        speech_threshold: speech begins at this probability of the detector.
        silence_threshold: speech lasts until its probability falls below this.
    """

    pause_ms: int = 700
    padding_ms: int = 350
    min_speech_ms: int = 90
    max_note_s: float = 28.0
    speech_threshold: float = 0.5
    silence_threshold: float = 0.35


def iter_segments(
    path: Path, options: SegmentOptions | None = None, *, on_damage: OnDamage | None = None
) -> Iterator[Segment]:
    """Cut the recording into notes, one segment each, in order.

    Segments never overlap. Sound between them held no speech.

    Args:
        path: the recording.
        options: where to cut.
        on_damage: is told, in one sentence, if part of the file can't be decoded.

    Raises:
        UnreadableRecording: nothing in the file can be decoded as sound.
    """
    cutter = NoteCutter(options or SegmentOptions())
    for block in iter_blocks(path, on_damage=on_damage):
        yield from cutter.push(block)
    yield from cutter.finish()


def locate_speech(segment: Segment, options: SegmentOptions | None = None) -> tuple[Stretch, ...]:
    """Return where in the segment speech is, in seconds from the segment's start.

    What the cutter found is taken over; a segment from elsewhere is listened to now.
    """
    if segment.speech is not None:
        return tuple(
            Stretch(start_s=part.start_s - segment.start_s, end_s=part.end_s - segment.start_s)
            for part in segment.speech
        )
    missing = -len(segment.samples) % FRAME_SAMPLES
    probabilities = SpeechDetector().probabilities(np.pad(segment.samples, (0, missing)))
    judge = _Judge(options or SegmentOptions())
    voiced = [judge.is_speech(float(probability)) for probability in probabilities]
    return _stretches(voiced, start_s=0.0)


class NoteCutter:
    """Cuts a stream of sound into notes as it comes in."""

    def __init__(self, options: SegmentOptions) -> None:
        self._options = options
        self._detector = SpeechDetector()
        self._judge = _Judge(options)
        self._sound = _Sound()
        self._padding = round(min(options.padding_ms, options.pause_ms / 2) / 1000 * SAMPLE_RATE_HZ)
        # Rounded down: the detector is a frame late more often than a frame early, and a
        # pause of exactly pause_ms must end the note.
        self._pause_frames = max(1, int(options.pause_ms / 1000 / FRAME_S))
        longest = round(options.max_note_s * SAMPLE_RATE_HZ) - 2 * self._padding
        self._max_frames = max(2 * self._pause_frames, longest // FRAME_SAMPLES)
        self._frame = 0
        self._note: _OpenNote | None = None
        self._taken_until = 0

    def push(self, samples: Samples) -> Iterator[Segment]:
        """Take the next sound and yield the notes that have ended."""
        self._sound.append(samples)
        yield from self._judge_waiting()
        self._forget()

    @property
    def is_in_note(self) -> bool:
        """Whether a note is being spoken: its first word was heard, its pause hasn't run out."""
        return self._note is not None

    def foresee(self) -> Segment | None:
        """Return the note being spoken as it will be cut if nothing more is said.

        Known as soon as the silence is as long as the padding that is kept after speech,
        well before the pause has run out; None until then. If nothing more is said,
        exactly this segment is yielded later.
        """
        note = self._note
        if note is None:
            return None
        end = self._end_of(note)
        return self._make_segment(note, end=end) if end <= self._frame * FRAME_SAMPLES else None

    def spoken_after(self, position: int) -> tuple[Samples, int]:
        """Return what of the note being spoken came after a sample, and up to where that is.

        No more than the note will have if nothing more is said.

        Args:
            position: counted from the first sample of the stream.
        """
        note = self._note
        if note is None:
            return np.zeros(0, dtype=np.float32), position
        first = max(position, note.start)
        last = max(first, min(self._end_of(note), self._sound.real_end))
        return self._sound.cut(first, last), last

    def finish(self) -> Iterator[Segment]:
        """Yield the note that was still being spoken when the sound ended."""
        self._sound.pad_to_frame()
        yield from self._judge_waiting()
        if self._note is not None:
            yield from self._close(self._note)
            self._note = None

    def _judge_waiting(self) -> Iterator[Segment]:
        first = self._frame * FRAME_SAMPLES
        whole = (self._sound.end - first) // FRAME_SAMPLES * FRAME_SAMPLES
        for probability in self._detector.probabilities(self._sound.cut(first, first + whole)):
            yield from self._take_frame(is_speech=self._judge.is_speech(float(probability)))
            self._frame += 1

    def _take_frame(self, *, is_speech: bool) -> Iterator[Segment]:
        note = self._note
        if note is None:
            if is_speech:
                start = max(self._frame * FRAME_SAMPLES - self._padding, self._taken_until)
                self._note = _OpenNote(start=start, first_frame=self._frame, voiced=[True])
            return
        note.voiced.append(is_speech)
        if note.trailing_silence_frames >= self._pause_frames:
            yield from self._close(note)
            self._note = None
        elif len(note.voiced) >= self._max_frames:
            yield from self._cut(note)

    def _close(self, note: _OpenNote) -> Iterator[Segment]:
        yield from self._take(note, end=min(self._end_of(note), self._sound.real_end))

    def _end_of(self, note: _OpenNote) -> int:
        last_frame = note.first_frame + len(note.voiced) - note.trailing_silence_frames
        return last_frame * FRAME_SAMPLES + self._padding

    def _cut(self, note: _OpenNote) -> Iterator[Segment]:
        """End a note that grew too long, and go on with the rest as the next one."""
        cut_at = _find_cut(note.voiced, self._sound, first_frame=note.first_frame)
        cut_frame = note.first_frame + cut_at
        before = _OpenNote(
            start=note.start, first_frame=note.first_frame, voiced=note.voiced[:cut_at]
        )
        yield from self._take(before, end=cut_frame * FRAME_SAMPLES)
        self._note = _OpenNote(
            start=cut_frame * FRAME_SAMPLES, first_frame=cut_frame, voiced=note.voiced[cut_at:]
        )

    def _take(self, note: _OpenNote, *, end: int) -> Iterator[Segment]:
        segment = self._make_segment(note, end=end)
        if segment is not None:
            self._taken_until = end
            yield segment

    def _make_segment(self, note: _OpenNote, *, end: int) -> Segment | None:
        if sum(note.voiced) * FRAME_S * 1000 < self._options.min_speech_ms:
            return None
        return Segment(
            samples=self._sound.cut(note.start, end),
            start_s=round(note.start / SAMPLE_RATE_HZ, 4),
            end_s=round(end / SAMPLE_RATE_HZ, 4),
            speech=_stretches(note.voiced, start_s=note.first_frame * FRAME_S),
        )

    def _forget(self) -> None:
        """Let go of sound that no later note can need."""
        reached = self._frame * FRAME_SAMPLES
        self._sound.drop_before(self._note.start if self._note else reached - self._padding)


@dataclass(slots=True, kw_only=True)
class _OpenNote:
    """The note being spoken: where it starts, and which of its frames are speech."""

    start: int
    first_frame: int
    voiced: list[bool]

    @property
    def trailing_silence_frames(self) -> int:
        for silent, is_speech in enumerate(reversed(self.voiced)):
            if is_speech:
                return silent
        return len(self.voiced)


class _Judge:
    """Says of each frame whether it is speech: easier to go on speaking than to begin."""

    def __init__(self, options: SegmentOptions) -> None:
        self._options = options
        self._speaking = False

    def is_speech(self, probability: float) -> bool:
        bar = self._options.silence_threshold if self._speaking else self._options.speech_threshold
        self._speaking = probability >= bar
        return self._speaking


class _Sound:
    """The part of the stream that is still needed, addressed by absolute sample."""

    def __init__(self) -> None:
        self._samples: Samples = np.zeros(0, dtype=np.float32)
        self._start = 0
        self._padded = 0

    @property
    def end(self) -> int:
        return self._start + len(self._samples)

    @property
    def real_end(self) -> int:
        """Where the sound ends, without what was added to fill the last frame."""
        return self.end - self._padded

    def append(self, samples: Samples) -> None:
        self._samples = np.concatenate([self._samples, samples])

    def pad_to_frame(self) -> None:
        self._padded = -self.end % FRAME_SAMPLES
        self.append(np.zeros(self._padded, dtype=np.float32))

    def cut(self, first: int, last: int) -> Samples:
        piece: Samples = self._samples[first - self._start : last - self._start].copy()
        return piece

    def drop_before(self, position: int) -> None:
        surplus = position - self._start
        if surplus > 0:
            self._samples = self._samples[surplus:].copy()
            self._start = position


def _find_cut(voiced: list[bool], sound: _Sound, *, first_frame: int) -> int:
    """Return the frame (counted in the note) where a long note is best cut in two.

    The middle of the longest pause in its last three fifths; if nobody paused there,
    the quietest fifth of a second.
    """
    earliest = len(voiced) * 2 // 5
    pauses = [
        (last - first, (first + last) // 2)
        for first, last in _runs(voiced, wanted=False)
        if first >= earliest
    ]
    # 3 frames, 96 ms: the closure of a "t" or a "k" inside a word is shorter.
    if pauses and max(pauses)[0] >= 3:
        return max(pauses)[1]
    frames = sound.cut(
        (first_frame + earliest) * FRAME_SAMPLES, (first_frame + len(voiced)) * FRAME_SAMPLES
    ).reshape(-1, FRAME_SAMPLES)
    energies = np.convolve(np.square(frames).mean(axis=1), np.ones(6), mode="valid")
    return earliest + int(energies.argmin()) + 3


def _stretches(voiced: list[bool], *, start_s: float) -> tuple[Stretch, ...]:
    return tuple(
        Stretch(
            start_s=round(start_s + first * FRAME_S, 3), end_s=round(start_s + last * FRAME_S, 3)
        )
        for first, last in _runs(voiced, wanted=True)
    )


def _runs(voiced: list[bool], *, wanted: bool) -> Iterator[tuple[int, int]]:
    """Yield first (inclusive) and last (exclusive) frame of each run of ``wanted``."""
    first: int | None = None
    for index, is_speech in enumerate(voiced):
        if is_speech is wanted:
            first = index if first is None else first
        elif first is not None:
            yield first, index
            first = None
    if first is not None:
        yield first, len(voiced)
