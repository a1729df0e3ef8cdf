"""A long day at the bench, made from a seed, and clocks on which it passes faster.

Spoken notes with pauses of every length between them, in a room in which leaves rustle,
things click and knock. What was said when is known to the sample, so that afterwards each
note can be looked for in the log.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np

from tests.recognition.noises import make_noise
from tests.session.live.reading import read_wav
from voicelog.domain.note import Note, Word
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Heard, Samples, Segment, make_heard
from voicelog.session.live.clocks import Clocks
from voicelog.session.live.sources import Block, Pcm
from voicelog.store.log import Log

_BLOCK = SAMPLE_RATE_HZ // 10
_ROOM = (("pink noise", -58.0), ("page rustle", -45.0), ("clicks", -45.0), ("knocks", -45.0))
_ROOM_S = 20.0
_SHORTEST_PAUSE_S = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One note as it was said.

    Attributes:
        sound: which of the day's sounds it is.
        start: its first sample, counted from the beginning of the day.
        end: the sample after its last one.
    """

    sound: int
    start: int
    end: int


class BenchDay:
    """What is said and heard at the bench from the first note to the last.

    Attributes:
        said: every note, in order.
        samples: how long the day is, in samples at 16 kHz.
    """

    def __init__(self, sounds: Sequence[Samples], *, notes: int, hours: float, seed: int) -> None:
        chance = np.random.default_rng(seed)
        which = chance.integers(0, len(sounds), notes)
        spoken = sum(len(sounds[sound]) for sound in which)
        spare = round(hours * 3600 * SAMPLE_RATE_HZ) - spoken
        shortest = round(_SHORTEST_PAUSE_S * SAMPLE_RATE_HZ)
        if spare < notes * shortest:
            message = f"{notes} notes don't fit into {hours} hours"
            raise ValueError(message)
        # Most pauses are short, some are a cup of tea.
        shares = chance.gamma(0.6, 1.0, notes)
        pauses = shortest + np.floor(shares / shares.sum() * (spare - notes * shortest)).astype(int)
        self._sounds = [np.rint(sound * 32767).astype(np.int16) for sound in sounds]
        self._room = [
            np.rint(make_noise(kind, seconds=_ROOM_S, level_db=level, seed=seed) * 32767)
            for kind, level in _ROOM
        ]
        said = []
        at = 0
        for sound, pause in zip(which, pauses, strict=True):
            at += int(pause)
            said.append(Spoken(sound=int(sound), start=at, end=at + len(sounds[sound])))
            at = said[-1].end
        self.said = tuple(said)
        self.samples = at + 2 * SAMPLE_RATE_HZ

    def iter_blocks(self) -> Iterator[Pcm]:
        """Yield the whole day, a tenth of a second at a time, the same each time."""
        first = 0
        for at in range(0, self.samples, _BLOCK):
            block = self._room_at(at, min(_BLOCK, self.samples - at))
            while first < len(self.said) and self.said[first].end <= at:
                first += 1
            nth = first
            while nth < len(self.said) and self.said[nth].start < at + len(block):
                self._speak(block, at, self.said[nth])
                nth += 1
            yield np.clip(block, -32768, 32767).astype(np.int16)

    def _room_at(self, at: int, length: int) -> Samples:
        # The kinds of noise take turns, each as long as the tape of it: a whole number of blocks.
        turn, start = divmod(at, round(_ROOM_S * SAMPLE_RATE_HZ))
        return self._room[turn % len(self._room)][start : start + length].copy()

    def _speak(self, block: Samples, at: int, spoken: Spoken) -> None:
        start, end = max(at, spoken.start), min(at + len(block), spoken.end)
        sound = self._sounds[spoken.sound][start - spoken.start : end - spoken.start]
        block[start - at : end - at] += sound


class BySound:
    """A recogniser that finds known sounds, whatever lies around and beneath them.

    It looks for half a second from the middle of each, by correlation, and gives the texts
    of those it finds in the order in which they were said.

    Attributes:
        failing: texts at which it fails, every time.
        failing_once: texts at which it fails the next time.
    """

    engine = "scripted"
    model = "by sound"

    def __init__(self, sounds: Sequence[Samples], texts: Sequence[str]) -> None:
        self.failing: set[str] = set()
        self.failing_once: set[str] = set()
        self._texts = texts
        middles = [sound[len(sound) // 2 :][: SAMPLE_RATE_HZ // 2] for sound in sounds]
        self._marks = [middle / np.sqrt(np.square(middle).sum()) for middle in middles]

    def recognise(self, segment: Segment) -> Heard:
        found = [(self._find(mark, segment.samples), nth) for nth, mark in enumerate(self._marks)]
        places = sorted((place, nth) for place, nth in found if place is not None)
        for _, nth in places:
            if self._texts[nth] in self.failing | self.failing_once:
                self.failing_once.discard(self._texts[nth])
                raise MemoryError
        return make_heard(
            [
                Word(text=word, start_s=segment.start_s, end_s=segment.end_s, confidence=1.0)
                for _, nth in places
                for word in self._texts[nth].split()
            ]
        )

    def _find(self, mark: Samples, sound: Samples) -> int | None:
        if len(sound) < len(mark):
            return None
        size = 1 << (len(sound) + len(mark)).bit_length()
        spectrum = np.fft.rfft(sound, size) * np.conj(np.fft.rfft(mark, size))
        matches = np.fft.irfft(spectrum, size)[: len(sound) - len(mark) + 1]
        place = int(matches.argmax())
        there = sound[place : place + len(mark)]
        loudness = float(np.sqrt(np.square(there).sum()))
        return place if matches[place] > 0.8 * loudness > 0 else None


class HurriedClock:
    """Three clocks that run faster than others, and agree with each other."""

    def __init__(self, speed: float) -> None:
        self.speed = speed
        self._began = time.monotonic()
        self._began_at = datetime.now(UTC).astimezone()

    def seconds(self) -> float:
        """Return how much time of the bench has passed."""
        return (time.monotonic() - self._began) * self.speed

    def wait_until(self, seconds: float, *, timeout_s: float) -> bool:
        """Wait for a moment of the bench, but no longer than ``timeout_s`` of ours."""
        wait_s = (seconds - self.seconds()) / self.speed
        if wait_s > 0:
            time.sleep(min(wait_s, timeout_s))
        return wait_s <= timeout_s

    def as_clocks(self) -> Clocks:
        return Clocks(
            monotonic=self.seconds,
            boot=self.seconds,
            wall=lambda: self._began_at + timedelta(seconds=self.seconds()),
        )


class HurriedSource:
    """Plays a day as fast as a hurried clock runs.

    Attributes:
        given: how many samples were handed out.
    """

    name = "hurried microphone"
    sample_rate_hz = SAMPLE_RATE_HZ
    channels = 1

    def __init__(self, day: BenchDay, clock: HurriedClock) -> None:
        self.ended = False
        self.given = 0
        self._clock = clock
        self._blocks = day.iter_blocks()
        self._next: Pcm | None = next(self._blocks)
        self._began = clock.seconds()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.ended = True

    def read(self, timeout_s: float) -> Block | None:
        samples = self._next
        if samples is None:
            return None
        at = self._began + self.given / SAMPLE_RATE_HZ
        due = at + len(samples) / SAMPLE_RATE_HZ
        if not self._clock.wait_until(due, timeout_s=timeout_s):
            return None
        self.given += len(samples)
        self._next = next(self._blocks, None)
        self.ended = self._next is None
        return Block(samples=samples, sample_rate_hz=SAMPLE_RATE_HZ, at=at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """What became of a day's notes.

    Attributes:
        lost: those said that no note of the log lies on.
        doubled: those said that more than one note of the log lies on.
        invented: notes of the log that lie on nothing that was said.
        texts: the texts of the notes, by the note said that each lies on.
    """

    lost: tuple[Spoken, ...]
    doubled: tuple[Spoken, ...]
    invented: tuple[Note, ...]
    texts: tuple[str, ...]


def account_for(day: BenchDay, log: Log) -> Account:
    """Look for every note said in the log of a session that recorded without a break."""
    begins: dict[str | None, int] = {}
    at = 0
    for recording in log.iter_recordings():
        begins[recording.file] = at
        at += round((recording.duration_s or 0.0) * SAMPLE_RATE_HZ)
    found: list[list[str]] = [[] for _ in day.said]
    starts = np.array([spoken.start for spoken in day.said])
    invented = []
    for note in log.iter_notes():
        middle_s = ((note.start_s or 0.0) + (note.end_s or 0.0)) / 2
        middle = begins[note.recording] + middle_s * SAMPLE_RATE_HZ
        nth = int(np.searchsorted(starts, middle, side="right")) - 1
        if nth >= 0 and middle < day.said[nth].end:
            found[nth].append(note.text)
        else:
            invented.append(note)
    return Account(
        lost=tuple(said for said, texts in zip(day.said, found, strict=True) if not texts),
        doubled=tuple(said for said, texts in zip(day.said, found, strict=True) if len(texts) > 1),
        invented=tuple(invented),
        texts=tuple(text for texts in found for text in texts),
    )


def is_kept_whole(day: BenchDay, audio: Path) -> bool:
    """Say whether the files of a session hold the day, sample for sample."""
    blocks = day.iter_blocks()
    rest = np.zeros(0, dtype=np.int16)
    for path in sorted(audio.glob("*.wav")):
        kept = read_wav(path)
        parts = [rest]
        length = len(rest)
        while length < len(kept):
            parts.append(next(blocks, kept[:0]))
            if not len(parts[-1]):
                return False
            length += len(parts[-1])
        said = np.concatenate(parts)
        if not np.array_equal(said[: len(kept)], kept):
            return False
        rest = said[len(kept) :]
    return not len(rest) and next(blocks, None) is None
