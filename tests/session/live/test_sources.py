from __future__ import annotations

import itertools
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
import pytest

from tests.recognition.recordings import make_tone, write_recording
from voicelog.errors import MicrophoneMissing, SourceLost
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.session.live.sources import Block, FileSource, ReturningSource, SoundSource


class FakeTime:
    """A clock that only moves while somebody sleeps."""

    def __init__(self) -> None:
        self.now_s = 1_000.0

    def monotonic(self) -> float:
        return self.now_s

    def sleep(self, seconds: float) -> None:
        self.now_s += seconds


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    return write_recording(tmp_path / "tone.wav", make_tone(seconds=2.35))


def read_blocks(source: FileSource, *, timeout_s: float = 1.0) -> list[Block]:
    blocks = []
    while not source.ended:
        block = source.read(timeout_s)
        if block is not None:
            blocks.append(block)
    return blocks


class TestFileSource:
    def test_all_of_the_recording_comes_in_order(self, recording: Path) -> None:
        with FileSource(recording, speed=None) as source:
            blocks = read_blocks(source)
        said = np.concatenate([block.samples for block in blocks])
        expected = np.rint(make_tone(seconds=2.35) * 32768)
        assert len(said) == len(expected)
        assert np.abs(said - expected).max() <= 1

    @pytest.mark.parametrize(("speed", "lasts_s"), [(1.0, 2.35), (10.0, 0.235)])
    def test_it_takes_as_long_as_it_should(
        self, recording: Path, speed: float, lasts_s: float
    ) -> None:
        time = FakeTime()
        with FileSource(
            recording, speed=speed, monotonic=time.monotonic, sleep=time.sleep
        ) as source:
            read_blocks(source)
        assert time.now_s - 1_000 == pytest.approx(lasts_s)

    def test_nothing_comes_before_it_was_said(self, recording: Path) -> None:
        time = FakeTime()
        with FileSource(recording, monotonic=time.monotonic, sleep=time.sleep) as source:
            assert source.read(timeout_s=0.04) is None
            assert source.read(timeout_s=0.04) is None
            assert source.read(timeout_s=0.04) is not None

    @pytest.mark.parametrize("speed", [1.0, 7.0, None])
    def test_its_blocks_follow_each_other_on_the_clock(
        self, recording: Path, speed: float | None
    ) -> None:
        """However fast it is played, a recording has no gaps."""
        time = FakeTime()
        with FileSource(
            recording, speed=speed, monotonic=time.monotonic, sleep=time.sleep
        ) as source:
            blocks = read_blocks(source)
        for block, following in itertools.pairwise(blocks):
            assert following.at == pytest.approx(block.ends_at)


class ScriptedSource:
    """Gives some blocks, then is lost; or is not there at all."""

    channels = 1
    ended = False

    def __init__(self, name: str, blocks: Iterable[Block], *, is_there: bool = True) -> None:
        self.name = name
        self.sample_rate_hz = 48_000
        self.is_open = False
        self._blocks = iter(blocks)
        self._is_there = is_there

    def __enter__(self) -> Self:
        if not self._is_there:
            raise MicrophoneMissing("No microphone is connected; plug one in, then try again.")
        self.is_open = True
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.is_open = False

    def read(self, timeout_s: float) -> Block | None:
        del timeout_s
        try:
            return next(self._blocks)
        except StopIteration:
            raise SourceLost("The microphone headset is gone; plug it in again.") from None


def make_block(at: float) -> Block:
    return Block(samples=np.ones(160, dtype=np.int16), sample_rate_hz=SAMPLE_RATE_HZ, at=at)


class TestReturningSource:
    def test_it_comes_back_by_itself_once_it_is_there_again(self) -> None:
        time = FakeTime()
        sources = [
            ScriptedSource("headset", [make_block(1.0), make_block(2.0)]),
            ScriptedSource("headset", [], is_there=False),
            ScriptedSource("headset", [], is_there=False),
            ScriptedSource("headset", [make_block(9.0)]),
        ]
        coming = iter(sources)
        losses: list[SourceLost] = []
        returns: list[SoundSource] = []
        source = ReturningSource(
            lambda: next(coming),
            on_lost=losses.append,
            on_return=returns.append,
            monotonic=time.monotonic,
            sleep=time.sleep,
        )
        heard: list[float] = []
        with source:
            while len(heard) < 3:
                block = source.read(timeout_s=0.25)
                if block is None:
                    assert source.is_lost
                else:
                    heard.append(block.at)
        assert heard == [1.0, 2.0, 9.0]
        assert len(losses) == 1
        assert returns == [sources[3]]
        assert time.now_s - 1_000 == pytest.approx(3.0)
        assert not any(each.is_open for each in sources)

    def test_one_that_was_never_there_is_an_error_at_once(self) -> None:
        source = ReturningSource(lambda: ScriptedSource("headset", [], is_there=False))
        with pytest.raises(MicrophoneMissing, match="plug one in"):
            source.__enter__()
