"""A bench for tests: real spoken sounds in an order of our choosing, words of our choosing.

The sounds come from a demo recording; which is which is told by their length, all of them
differ. The words that a sound stands for are whatever a test wants to have been said.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np

from voicelog.domain.finding import Finding
from voicelog.domain.note import Word
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Heard, Samples, Segment, make_heard
from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.session.live.desk import Desk, Taken
from voicelog.session.live.loop import LiveSession
from voicelog.session.live.loudspeaker import Speaking
from voicelog.session.live.options import LiveOptions, LiveWatcher, Outcome
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.session_files import Machine
from voicelog.session.live.sounds import Sound
from voicelog.session.live.sources import Block, Pcm, SoundSource
from voicelog.session.live.view import View
from voicelog.settings import read_settings
from voicelog.wiring.bench import Bench, open_bench

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "demo_data" / "recordings" / "2-green-book-middle.flac"
SILENCE = np.zeros(round(1.1 * SAMPLE_RATE_HZ), dtype=np.float32)
_BLOCK = SAMPLE_RATE_HZ // 10
_LONGEST_WAIT_S = 30.0


@cache
def spoken_sounds() -> tuple[Samples, ...]:
    """Seven spoken notes, every two of which differ in length by a quarter of a second."""
    sounds: list[Samples] = []
    for segment in iter_segments(DEMO):
        if all(abs(len(segment.samples) - len(one)) > SAMPLE_RATE_HZ / 4 for one in sounds):
            sounds.append(segment.samples)
    return tuple(sounds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A point at which the handler says nothing until something has happened."""

    until: Callable[[], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Do:
    """A point at which something is done."""

    act: Callable[[], None]


Step = Samples | Wait | Do


class ScriptedSource:
    """Gives sound as fast as it is taken, and waits where the script says so."""

    name = "scripted microphone"
    sample_rate_hz = SAMPLE_RATE_HZ
    channels = 1

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.ended = False
        self._pieces: list[Pcm] = []
        self._at = 1000.0
        self._waiting_since: float | None = None

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
        while not self._pieces:
            if not self.steps:
                self.ended = True
                return None
            step = self.steps[0]
            if isinstance(step, Wait) and not self._is_over(step):
                time.sleep(min(timeout_s, 0.01))
                return None
            self.steps.pop(0)
            self._waiting_since = None
            if isinstance(step, Do):
                step.act()
            elif not isinstance(step, Wait):
                pcm = np.rint(step * 32767).astype(np.int16)
                self._pieces = [pcm[at : at + _BLOCK] for at in range(0, len(pcm), _BLOCK)]
        block = Block(samples=self._pieces.pop(0), sample_rate_hz=self.sample_rate_hz, at=self._at)
        self._at = block.ends_at
        return block

    def skip(self, seconds: float) -> None:
        """Let time pass without sound."""
        self._at += seconds

    def _is_over(self, step: Wait) -> bool:
        self._waiting_since = self._waiting_since or time.monotonic()
        if time.monotonic() - self._waiting_since > _LONGEST_WAIT_S:
            message = "what the script waits for never happened"
            raise TimeoutError(message)
        return step.until()


class ByLength:
    """Hears in each sound what the test says it stands for."""

    engine = "scripted"
    model = "script"

    def __init__(self, words: Sequence[str]) -> None:
        self._words = words
        self.failing: set[str] = set()
        self.asked: list[str] = []

    def recognise(self, segment: Segment) -> Heard:
        lengths = [abs(len(sound) - len(segment.samples)) for sound in spoken_sounds()]
        nearest = int(np.argmin(lengths))
        # Silence of another kind around it may move its edges by a few frames.
        if lengths[nearest] > SAMPLE_RATE_HZ / 8:
            return make_heard([])
        text = self._words[nearest]
        self.asked.append(text)
        if text in self.failing:
            raise RuntimeError("lost its way")
        return make_heard(
            [
                Word(text=word, start_s=segment.start_s, end_s=segment.end_s, confidence=1.0)
                for word in text.split()
            ]
        )


@dataclass(slots=True, kw_only=True)
class Recorded:
    """Everything that a session let its watcher and its handler know."""

    taken: list[Taken] = field(default_factory=list)
    sentences: list[str] = field(default_factory=list)
    views: list[View] = field(default_factory=list)
    played: list[Sound] = field(default_factory=list)

    @property
    def texts(self) -> list[str]:
        return [one.note.text for one in self.taken]

    @property
    def tones(self) -> list[str]:
        return [str(one.tone) for one in self.taken]

    def play(self, sound: Sound) -> None:
        self.played.append(sound)


class WrittenVoice:
    """A voice that writes down what it should have said."""

    name = "written"

    def __init__(self) -> None:
        self.said: list[str] = []

    def speak(self, text: str) -> Sound | None:
        self.said.append(text)
        return Sound(samples=np.zeros(160, dtype=np.float32), sample_rate_hz=16_000)


@dataclass(slots=True, kw_only=True, eq=False)
class Table:
    """A session in the making: give the source its steps, then run it."""

    bench: Bench
    words: tuple[str, ...]
    source: ScriptedSource = field(default_factory=ScriptedSource)
    recorded: Recorded = field(default_factory=Recorded)
    voice: WrittenVoice | None = None
    recogniser: ByLength = field(init=False)
    findings: tuple[Finding, ...] = ()
    made: int = 0
    session: LiveSession | None = None

    def __post_init__(self) -> None:
        self.recogniser = ByLength(self.words)

    def say(self, *texts: str) -> None:
        """Let sounds be heard for these words, each with a pause behind it."""
        for text in texts:
            self.source.steps += [spoken_sounds()[self.words.index(text)], SILENCE]

    def wait_for(self, until: Callable[[], bool]) -> None:
        self.source.steps.append(Wait(until=until))

    def wait_for_notes(self, count: int) -> None:
        self.wait_for(lambda: len(self.recorded.taken) >= count)

    def do(self, act: Callable[[], None]) -> None:
        self.source.steps.append(Do(act=act))

    def run(
        self,
        *,
        machine: Machine | None = None,
        recorder: RecorderOptions | None = None,
        source: SoundSource | None = None,
    ) -> Outcome:
        session = LiveSession(
            Desk(self.bench.scribe, self.bench.logbook, self.bench.reader),
            source or self.source,
            self._make_recogniser,
            options=LiveOptions(
                segments=SegmentOptions(),
                recorder=recorder or RecorderOptions(),
                speaking=Speaking(player=self.recorded, voice=self.voice),
                find_findings=lambda *_of: self.findings,
                handler="Ida Fenn",
            ),
            watcher=LiveWatcher(
                show=self.recorded.views.append,
                taken=lambda taken, _after_s: self.recorded.taken.append(taken),
                say=self.recorded.sentences.append,
            ),
            machine=machine,
        )
        self.session = session
        return session.run()

    def _make_recogniser(self) -> ByLength:
        self.made += 1
        return self.recogniser


@contextmanager
def laid_table(folder: Path, *words: str) -> Iterator[Table]:
    """Open a log and lay the bench for a session in which these words may be said."""
    with open_bench(folder, read_settings(environment={})) as bench:
        yield Table(bench=bench, words=words)
