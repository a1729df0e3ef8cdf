"""Who listens, and what they are told to expect. Both lists are open: add a line.

An engine is a name and a function that makes its recogniser; a biasing is a name and what
gives, before each note, the words to expect.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from pathlib import Path
from types import MappingProxyType
from typing import Any, Protocol

import numpy as np

from voicelog.domain.context import Context
from voicelog.domain.entry import Entry
from voicelog.hearing.expecting import ExpectingRecogniser, HotWords
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import find_models, model_folders
from voicelog.recognition.recogniser import Recogniser, Samples
from voicelog.vocabulary import Vocabulary


class Biasing(Protocol):
    """What is told to expect, before each note of a session."""

    @property
    def words(self) -> HotWords:
        """The words to expect now, the most important first."""

    def take(self, changed: Iterable[Entry], context: Context) -> None:
        """Go on from a note: the entries that it made or changed, and where we are now."""


class Fixed:
    """The same words whatever was said."""

    def __init__(self, *words: str) -> None:
        self.words = words

    def take(self, changed: Iterable[Entry], context: Context) -> None:
        """Stay as it is."""


class RememberingWhisper(WhisperRecogniser):
    """Whisper that keeps what it makes of a sound before any word is expected.

    That is most of the work, and the same for every list of words.

    Args:
        folder: where it is kept.
    """

    def __init__(self, options: WhisperOptions, folder: Path) -> None:
        super().__init__(options)
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder

    def _encode(self, samples: Samples) -> tuple[Any, int]:
        from ctranslate2 import StorageView  # noqa: PLC0415

        name = hashlib.sha256(samples.tobytes() + self.model.encode()).hexdigest()
        path = self._folder / f"{name}.npz"
        if path.exists():
            with np.load(path) as kept:
                return StorageView.from_array(kept["encoded"]), int(kept["frames"])
        encoded, frames = super()._encode(samples)
        np.savez(path, encoded=np.asarray(encoded), frames=frames)
        return encoded, frames


def _make_whisper(words: Callable[[], HotWords], kept: Path | None) -> Recogniser:
    options = WhisperOptions(threads=1)
    ear = RememberingWhisper(options, kept / "encoded") if kept else WhisperRecogniser(options)
    return ExpectingRecogniser(ear, words)


def _make_vosk(_words: Callable[[], HotWords], _kept: Path | None) -> Recogniser:
    models = {model.name: model for model in find_models(model_folders())}
    return VoskRecogniser(VoskOptions(model_folder=models["vosk-bench"].folder))


MakeRecogniser = Callable[[Callable[[], HotWords], Path | None], Recogniser]
"""Makes a recogniser from what gives the words to expect, and a folder to keep work in."""

ENGINES: MappingProxyType[str, MakeRecogniser] = MappingProxyType(
    {"whisper": _make_whisper, "vosk": _make_vosk}
)

DEAF_TO_BIASING = frozenset({"vosk"})
"""Engines that can't be told what to expect; what they hear stands under "none"."""

BIASINGS: MappingProxyType[str, Callable[[Vocabulary], Biasing]] = MappingProxyType(
    {
        "none": lambda _vocabulary: Fixed(),
        "standing": lambda vocabulary: Fixed(*vocabulary.hot_words()),
        "everything": lambda vocabulary: Fixed(
            *vocabulary.hot_words(), *(concept.term for concept in vocabulary.concepts)
        ),
    }
)
"""Nothing; the standing list; that and as many terms as the prompt holds."""
