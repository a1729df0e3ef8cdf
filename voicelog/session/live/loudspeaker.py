"""What the handler hears: tones at once, sentences when nobody speaks."""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from voicelog.errors import VoicelogError
from voicelog.recognition.recogniser import Samples
from voicelog.session.live.own_voice import OwnVoice
from voicelog.session.live.resampling import StreamResampler
from voicelog.session.live.sounds import Sound
from voicelog.session.live.tones import Tone, make_tone
from voicelog.session.live.voices import Voice

logger = logging.getLogger(__name__)

_LOOK_AGAIN_S = 0.1
_LONGEST_WAIT_S = 20.0


class PlayingFailed(VoicelogError):
    """A sound can't be played; the sentence says why."""


class Player(Protocol):
    """Anything that makes sound audible."""

    def play(self, sound: Sound) -> None:
        """Play a sound and return when it is over.

        Raises:
            PlayingFailed: it can't be played.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class Speaking:
    """How the program makes itself heard.

    Attributes:
        player: makes sound audible.
        tone_volume: of tones and voice, in percent; 0 for no tones.
        voice: says sentences, or None.
    """

    player: Player
    tone_volume: int = 40
    voice: Voice | None = None


class Loudspeaker(threading.Thread):
    """Plays what it is given, in order, in a thread of its own; never in anyone's way.

    Attributes:
        is_speaking: whether a sentence is being said just now.
    """

    def __init__(
        self,
        speaking: Speaking,
        *,
        own_voice: OwnVoice,
        is_handler_speaking: Callable[[], bool],
        on_failure: Callable[[str], None] = lambda _sentence: None,
    ) -> None:
        """Prepare to make sound.

        Args:
            speaking: through what, how loud, and by which voice.
            own_voice: is told when our voice sounds.
            is_handler_speaking: a sentence waits until it says no.
            on_failure: is told once, in a sentence, if nothing can be played.
        """
        super().__init__(name="loudspeaker", daemon=True)
        self._speaking = speaking
        self._own_voice = own_voice
        self._is_handler_speaking = is_handler_speaking
        self._on_failure = on_failure
        self._waiting: queue.SimpleQueue[Tone | str | None] = queue.SimpleQueue()
        self._has_failed = False
        self.is_speaking = False

    def sound(self, tone: Tone) -> None:
        """Let a tone be heard, unless tones are off."""
        if self._speaking.tone_volume:
            self._waiting.put(tone)

    def say(self, sentence: str) -> None:
        """Say a sentence, unless there is no voice."""
        if self._speaking.voice is not None and sentence:
            self._waiting.put(sentence)

    def finish(self) -> None:
        """Play what still waits, then end."""
        self._waiting.put(None)

    def run(self) -> None:
        """Play until :meth:`finish`."""
        while (what := self._waiting.get()) is not None:
            try:
                if isinstance(what, Tone):
                    self._speaking.player.play(
                        make_tone(what).at_volume(self._speaking.tone_volume)
                    )
                else:
                    self._speak(what)
            except PlayingFailed as failure:
                self._tell_failure(str(failure))
            except Exception as failure:  # noqa: BLE001 - a silent voice stops nobody's work
                self._tell_failure(f"The voice failed ({type(failure).__name__}); the log goes on.")

    def _speak(self, sentence: str) -> None:
        voice = self._speaking.voice
        sound = voice.speak(sentence) if voice is not None else None
        if sound is None:
            return
        sound = sound.at_volume(self._speaking.tone_volume or 100)
        samples = _at_16_khz(sound)
        waited_s = 0.0
        while self._is_handler_speaking() and waited_s < _LONGEST_WAIT_S:
            time.sleep(_LOOK_AGAIN_S)
            waited_s += _LOOK_AGAIN_S
        self._own_voice.begin(samples, at=time.monotonic())
        self.is_speaking = True
        try:
            self._speaking.player.play(sound)
        finally:
            self.is_speaking = False
            self._own_voice.end(at=time.monotonic())

    def _tell_failure(self, sentence: str) -> None:
        if not self._has_failed:
            self._has_failed = True
            self._on_failure(sentence)


def _at_16_khz(sound: Sound) -> Samples:
    """Return the sound as the microphone would give it, so that it is found again there."""
    resampler = StreamResampler(sound.sample_rate_hz)
    pcm = np.rint(np.clip(sound.samples, -1, 1) * 32767).astype(np.int16)
    resampled = np.concatenate([resampler.push(pcm), resampler.finish()])
    heard: Samples = resampled.astype(np.float32) / np.float32(32768)
    return heard
