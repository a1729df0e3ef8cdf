"""Where sound comes from while it is being said: one interface, and what plays a recording."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

import numpy as np
import numpy.typing as npt

from voicelog.errors import SourceLost
from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ

Pcm = npt.NDArray[np.int16]
"""Mono sound as sound cards give it: shape (n,), 16 bit signed."""

_BLOCK_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """A little sound, as it came from its source.

    Attributes:
        samples: mono, int16, shape (n,), never empty.
        sample_rate_hz: the source's own rate.
        at: when its first sample was taken, in seconds of the monotonic clock.
        dropped: how many samples were lost just before it.
    """

    samples: Pcm
    sample_rate_hz: int
    at: float
    dropped: int = 0

    @property
    def duration_s(self) -> float:
        """How long the block lasts."""
        return len(self.samples) / self.sample_rate_hz

    @property
    def ends_at(self) -> float:
        """When the sample after its last one is due, on the same clock as ``at``."""
        return self.at + self.duration_s


class SoundSource(Protocol):
    """Anything that gives sound as time goes by; open while its ``with`` block runs."""

    @property
    def name(self) -> str:
        """What a person calls it: a microphone's name, a file's name."""

    @property
    def sample_rate_hz(self) -> int:
        """Samples a second; may change when a source came back."""

    @property
    def channels(self) -> int:
        """How many channels it has itself; blocks are always mono."""

    @property
    def ended(self) -> bool:
        """Whether no more sound will ever come; a microphone never ends."""

    def __enter__(self) -> Self:
        """Open it."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""

    def read(self, timeout_s: float) -> Block | None:
        """Return the next sound, or None when none came within ``timeout_s``.

        Raises:
            SourceLost: it was there and has gone.
        """


class FileSource:
    """Plays a recording as if it were being said now.

    ``at`` runs with the recording's own time, however fast it is played, so that a
    recording never seems to have gaps.
    """

    channels = 1
    sample_rate_hz = SAMPLE_RATE_HZ

    def __init__(
        self,
        path: Path,
        *,
        speed: float | None = 1.0,
        monotonic: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """Prepare to play a recording.

        Args:
            path: any recording that :mod:`voicelog.recognition.audio` can decode.
            speed: 1 for real time, 10 for ten times as fast, None as fast as it is read.
            monotonic: the clock.
            sleep: how to wait.
        """
        self.name = path.name
        self.ended = False
        self._path = path
        self._speed = speed
        self._monotonic = monotonic
        self._sleep = sleep
        self._pieces: Iterator[Pcm] = iter(())
        self._next: Pcm | None = None
        self._started_at = 0.0
        self._position = 0

    def __enter__(self) -> Self:
        self._pieces = _in_pieces(self._path)
        self._next = next(self._pieces, None)
        self._started_at = self._monotonic()
        self._position = 0
        self.ended = self._next is None
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._pieces = iter(())
        self._next = None
        self.ended = True

    def read(self, timeout_s: float) -> Block | None:
        """Return the next tenth of a second once it would have been said."""
        samples = self._next
        if samples is None:
            return None
        if not self._wait_for(self._position + len(samples), timeout_s=timeout_s):
            return None
        at = self._started_at + self._position / SAMPLE_RATE_HZ
        self._position += len(samples)
        self._next = next(self._pieces, None)
        self.ended = self._next is None
        return Block(samples=samples, sample_rate_hz=SAMPLE_RATE_HZ, at=at)

    def _wait_for(self, position: int, *, timeout_s: float) -> bool:
        if self._speed is None:
            return True
        due = self._started_at + position / SAMPLE_RATE_HZ / self._speed
        wait_s = due - self._monotonic()
        if wait_s > 0:
            self._sleep(min(wait_s, timeout_s))
        return wait_s <= timeout_s


class ReturningSource:
    """A source that is opened again by itself after it was lost.

    While it is away, ``read`` returns None. The first block after its return simply
    comes later on the clock, by which a recorder knows the gap.
    """

    ended = False

    def __init__(
        self,
        make_source: Callable[[], SoundSource],
        *,
        on_lost: Callable[[SourceLost], None] = lambda _loss: None,
        on_return: Callable[[SoundSource], None] = lambda _source: None,
        retry_s: float = 1.0,
        monotonic: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """Prepare to open a source, and to open it again whenever it is lost.

        Args:
            make_source: makes the source afresh, not yet open.
            on_lost: is told once when it is lost.
            on_return: is told when it is back, maybe under another name.
            retry_s: how long to wait between attempts, in seconds.
            monotonic: the clock.
            sleep: how to wait.
        """
        self._make_source = make_source
        self._on_lost = on_lost
        self._on_return = on_return
        self._retry_s = retry_s
        self._monotonic = monotonic
        self._sleep = sleep
        self._source: SoundSource | None = None
        self._try_again_at = 0.0
        self.name = ""
        self.sample_rate_hz = SAMPLE_RATE_HZ
        self.channels = 1

    @property
    def is_lost(self) -> bool:
        """Whether the source is away just now."""
        return self._source is None

    def __enter__(self) -> Self:
        self._open()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._source is not None:
            source, self._source = self._source, None
            source.__exit__(kind, error, trace)

    def read(self, timeout_s: float) -> Block | None:
        """Return the next sound; None while there is none or the source is away."""
        if self._source is None and not self._come_back(timeout_s):
            return None
        source = self._source
        if source is None:
            return None
        try:
            return source.read(timeout_s)
        except SourceLost as loss:
            self._source = None
            source.__exit__(None, None, None)
            self._try_again_at = self._monotonic() + self._retry_s
            self._on_lost(loss)
            return None

    def _open(self) -> None:
        source = self._make_source()
        source.__enter__()
        self._source = source
        self.name, self.sample_rate_hz = source.name, source.sample_rate_hz
        self.channels = source.channels

    def _come_back(self, timeout_s: float) -> bool:
        wait_s = self._try_again_at - self._monotonic()
        if wait_s > 0:
            self._sleep(min(wait_s, timeout_s))
            if wait_s > timeout_s:
                return False
        try:
            self._open()
        except SourceLost:
            self._try_again_at = self._monotonic() + self._retry_s
            return False
        if self._source is not None:
            self._on_return(self._source)
        return True


def _in_pieces(path: Path) -> Iterator[Pcm]:
    wanted = round(_BLOCK_S * SAMPLE_RATE_HZ)
    for block in iter_blocks(path):
        pcm = np.clip(np.rint(block * 32768), -32768, 32767).astype(np.int16)
        for start in range(0, len(pcm), wanted):
            yield pcm[start : start + wanted]
