"""Microphones, through PortAudio: which there are, and the sound of one of them."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

import numpy as np
import numpy.typing as npt

from voicelog.errors import MicrophoneMissing, SourceLost
from voicelog.session.live.ring import Ring
from voicelog.session.live.sources import Block, Pcm

# With a reader that stands still this long, sound is lost; it stands still only while
# the disk does.
_RING_S = 30.0
# Enough for a detector to work on, and far below what a person notices.
_BLOCK_S = 0.05
_POLL_S = 0.01
# A sound server takes a second to begin, and a headset over radio longer.
_FIRST_SOUND_S = 5.0
_SILENT_S = 1.5
_MOST_CHANNELS = 2
# See voicelog.recognition.audio: far below 0.5, two channels cancel each other.
_CANCELLED = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input of this machine.

    Attributes:
        number: PortAudio's number for it, until something is plugged in or out.
        name: what the system calls it.
        channels: how many channels it has.
        sample_rate_hz: the rate that it has by nature.
        is_default: whether the system takes it when nobody says which.
    """

    number: int
    name: str
    channels: int
    sample_rate_hz: int
    is_default: bool


def list_inputs(*, refresh: bool = False) -> tuple[Input, ...]:
    """Return the inputs of this machine in the system's order.

    Args:
        refresh: look again at what is plugged in; ends all sound that is being played or
            taken by this process.

    Raises:
        MicrophoneMissing: PortAudio isn't there or can't be used.
    """
    sounddevice = _load_sounddevice()
    try:
        with _silent_libraries():
            if refresh:
                # sounddevice gives these two no public name; PortAudio itself only looks
                # at the devices when it is initialised.
                sounddevice._terminate()  # noqa: SLF001
                sounddevice._initialize()  # noqa: SLF001
            devices = sounddevice.query_devices()
            default = sounddevice.default.device[0]
    except sounddevice.PortAudioError as error:
        raise MicrophoneMissing(
            f"This machine's microphones can't be listed ({_describe(error)}); "
            "see that its sound system runs, then try again."
        ) from error
    return tuple(
        Input(
            number=number,
            name=str(device["name"]),
            channels=int(device["max_input_channels"]),
            sample_rate_hz=round(device["default_samplerate"]),
            is_default=number == default,
        )
        for number, device in enumerate(devices)
        if device["max_input_channels"] > 0
    )


def find_input(inputs: Sequence[Input], wanted: str = "") -> Input:
    """Return the input that a person means: by number, by name, or the system's choice.

    Args:
        inputs: what there is.
        wanted: a number, a name, a part of a name, or nothing.

    Raises:
        MicrophoneMissing: no input, or more than one, goes by that name.
    """
    if not inputs:
        raise MicrophoneMissing("No microphone is connected; plug one in, then try again.")
    if not wanted:
        return next((each for each in inputs if each.is_default), inputs[0])
    matching = (
        [each for each in inputs if str(each.number) == wanted]
        or [each for each in inputs if each.name == wanted]
        or [each for each in inputs if wanted.casefold() in each.name.casefold()]
    )
    if len(matching) == 1:
        return matching[0]
    there = ", ".join(f"{each.number} {each.name}" for each in matching or inputs)
    if matching:
        raise MicrophoneMissing(
            f"Several microphones go by {wanted!r} ({there}); name one by its number."
        )
    raise MicrophoneMissing(
        f"No microphone goes by {wanted!r}; plug it in, or name one of these: {there}."
    )


class MicrophoneSource:
    """The sound of one microphone, at its own rate.

    Raises, from ``with`` on:
        MicrophoneMissing: there is no such microphone, or it can't be opened.
        SourceLost: it stopped giving sound; noticed within 2 s.
    """

    ended = False

    def __init__(
        self,
        wanted: str = "",
        *,
        refresh: bool = False,
        monotonic: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """Prepare to open a microphone.

        Args:
            wanted: its number, its name, a part of its name, or nothing for the system's
                own choice.
            refresh: if it isn't found or can't be opened, look again at what is plugged in.
            monotonic: the clock.
            sleep: how to wait.
        """
        self.name = wanted
        self.sample_rate_hz = 0
        self.channels = 1
        self._wanted = wanted
        self._refresh = refresh
        self._monotonic = monotonic
        self._sleep = sleep
        self._stream: Any = None
        self._ring = Ring(1, channels=1)
        self._overflows = 0
        self._overflows_seen = 0
        self._ends_at: float | None = None
        self._sound_due_at = 0.0

    def __enter__(self) -> Self:
        try:
            self._open(find_input(list_inputs(), self._wanted))
        except MicrophoneMissing:
            if not self._refresh:
                raise
            self._open(find_input(list_inputs(refresh=True), self._wanted))
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            # Errors are of no interest: the device may be gone.
            stream.abort(ignore_errors=True)
            stream.close(ignore_errors=True)

    def read(self, timeout_s: float) -> Block | None:
        """Return the sound since the last call, at least 50 ms of it, or None.

        Raises:
            SourceLost: the microphone is gone.
        """
        wanted = round(_BLOCK_S * self.sample_rate_hz)
        give_up_at = self._monotonic() + timeout_s
        while self._ring.available < wanted:
            now = self._monotonic()
            if not self._is_alive(now):
                if not self._ring.available:
                    raise self._lost()
                # What came before the end is still given out.
                return self._take()
            if now >= give_up_at:
                return None
            self._sleep(min(_POLL_S, give_up_at - now))
        self._sound_due_at = self._monotonic() + _SILENT_S
        return self._take()

    def _is_alive(self, now: float) -> bool:
        return bool(self._stream and self._stream.active and now <= self._sound_due_at)

    def _take(self) -> Block:
        now = self._monotonic()
        at = now - self._ring.available / self.sample_rate_hz
        frames, dropped = self._ring.take()
        overflows = self._overflows
        if overflows != self._overflows_seen:
            # The sound card lost something before it came to us; only the clock knows how much.
            self._overflows_seen = overflows
            late_s = at - self._ends_at if self._ends_at is not None else 0.0
            dropped = max(1, dropped, round(late_s * self.sample_rate_hz))
        block = Block(
            samples=_mix_down(frames),
            sample_rate_hz=self.sample_rate_hz,
            at=at,
            dropped=dropped,
        )
        self._ends_at = block.ends_at
        return block

    def _open(self, device: Input) -> None:
        sounddevice = _load_sounddevice()
        self.name, self.sample_rate_hz = device.name, device.sample_rate_hz
        # Some devices have no single channel to give.
        for channels in dict.fromkeys((1, min(device.channels, _MOST_CHANNELS))):
            self._ring = Ring(round(_RING_S * device.sample_rate_hz), channels=channels)
            try:
                with _silent_libraries():
                    self._stream = sounddevice.InputStream(
                        device=device.number,
                        channels=channels,
                        samplerate=device.sample_rate_hz,
                        dtype="int16",
                        latency="high",
                        callback=self._callback,
                    )
                    self._stream.start()
            except sounddevice.PortAudioError as error:
                failure = error
                self.__exit__(None, None, None)
            else:
                self.channels = channels
                self._sound_due_at = self._monotonic() + _FIRST_SOUND_S
                return
        raise MicrophoneMissing(
            f"The microphone {device.name} can't be opened ({_describe(failure)}); "
            "see that no other program holds it, or plug it in again."
        ) from failure

    def _callback(
        self, indata: npt.NDArray[np.int16], _frames: int, _time: object, status: Any
    ) -> None:
        # Runs in the sound card's own thread, which must never wait: one copy, nothing else.
        self._ring.put(indata)
        self._overflows += status.input_overflow

    def _lost(self) -> SourceLost:
        return SourceLost(
            f"The microphone {self.name} is gone; plug it in again, and recording goes on "
            "by itself."
        )


def _mix_down(frames: npt.NDArray[np.int16]) -> Pcm:
    """Mix the channels, or take the louder where mixing would lose the voice."""
    if frames.shape[1] == 1:
        mono: Pcm = frames[:, 0]
        return mono
    wide = frames.astype(np.float64)
    mixed = wide.mean(axis=1)
    energies = np.square(wide).mean(axis=0)
    loudest = int(energies.argmax())
    if np.square(mixed).mean() < _CANCELLED * energies[loudest]:
        mixed = wide[:, loudest]
    louder: Pcm = np.rint(mixed).astype(np.int16)
    return louder


def _load_sounddevice() -> Any:
    try:
        with _silent_libraries():
            # Here and not above: it starts PortAudio, which looks at every device.
            import sounddevice  # type: ignore[import-untyped]  # noqa: PLC0415
    except OSError as error:
        raise MicrophoneMissing(
            "PortAudio is missing, without which no microphone can be used; on Debian "
            "install the package libportaudio2."
        ) from error
    return sounddevice


def _describe(failure: Exception) -> str:
    return str(failure.args[0]) if failure.args else type(failure).__name__


@contextmanager
def _silent_libraries() -> Iterator[None]:
    """Keep ALSA's complaints about devices that nobody asked for off the screen.

    They are written by C code to the process's own standard error, so that is turned
    away for a moment; what Python says meanwhile on another thread is lost too.
    """
    sys.stderr.flush()
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
