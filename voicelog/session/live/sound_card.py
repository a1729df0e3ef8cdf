"""The machine's sound card: the microphone that comes back, and the player beside it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Self

import numpy as np

from voicelog.errors import SourceLost
from voicelog.session.live.loudspeaker import PlayingFailed
from voicelog.session.live.microphone import MicrophoneSource
from voicelog.session.live.sounds import Sound
from voicelog.session.live.sources import ReturningSource, SoundSource

_LEAD_S = 0.05
"""Silence before a sound, in which a sound server gets going."""


class SoundCard:
    """Microphone and loudspeaker through PortAudio, one of them at a time where it matters.

    To find a microphone that was plugged in again, PortAudio is started afresh, which would
    pull the ground from under a sound that is being played. So each waits for the other.
    """

    def __init__(self) -> None:
        self._turn = threading.Lock()

    def make_microphone(
        self,
        wanted: str,
        *,
        on_lost: Callable[[SourceLost], None],
        on_return: Callable[[SoundSource], None],
    ) -> ReturningSource:
        """Return a microphone that is opened again, always the same, whenever it comes back.

        Args:
            wanted: its number, its name, a part of its name, or nothing.
            on_lost: is told when it has gone.
            on_return: is told when it is back.
        """
        latest: SoundSource | None = None

        def make_source() -> SoundSource:
            nonlocal latest
            is_return = latest is not None
            name = latest.name if latest is not None else wanted
            latest = _PatientMicrophone(name, is_return=is_return, turn=self._turn)
            return latest

        return ReturningSource(make_source, on_lost=on_lost, on_return=on_return)

    def play(self, sound: Sound) -> None:
        """Play a sound and return when it is over.

        Raises:
            PlayingFailed: it can't be played.
        """
        try:
            # Loads PortAudio, which a machine without sound needn't have.
            import sounddevice  # type: ignore[import-untyped]  # noqa: PLC0415
        except OSError as failure:
            raise PlayingFailed(
                "Tones and voice are silent, because PortAudio is not on this machine; "
                "install it (on Debian the package libportaudio2)."
            ) from failure
        with self._turn:
            try:
                with sounddevice.OutputStream(
                    samplerate=sound.sample_rate_hz,
                    channels=1,
                    dtype="float32",
                    # A busy computer must not swallow half a sentence.
                    latency="high",
                ) as stream:
                    lead = np.zeros(round(_LEAD_S * sound.sample_rate_hz), dtype=np.float32)
                    stream.write(np.concatenate([lead, sound.samples]))
            except (sounddevice.PortAudioError, ValueError) as failure:
                raise PlayingFailed(
                    "Tones and voice are silent, because nothing can be played; check the "
                    "headphones and the system's sound settings, or set tone_volume = 0."
                ) from failure


class _PatientMicrophone(MicrophoneSource):
    """A microphone that waits with its opening until nothing is being played."""

    def __init__(self, wanted: str, *, is_return: bool, turn: threading.Lock) -> None:
        super().__init__(wanted, refresh=is_return)
        self._turn = turn

    def __enter__(self) -> Self:
        with self._turn:
            return super().__enter__()
