"""Who listens, and what they are told to expect. Both lists are open: add a line.

An engine is a name and a function that makes its recogniser; a biasing is a name and what
gives, before each note, the words to expect.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Protocol

import numpy as np

from tests.benchmarks.hearing.expecting import ExpectingRecogniser, HotWords
from tests.benchmarks.hearing.moment import Moment
from voicelog.domain.context import Context
from voicelog.domain.entry import Entry
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.hearing.joined import JoinedRecogniser
from voicelog.hearing.joining import Joiner
from voicelog.hearing.weights import load_weights
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import find_models, model_folders
from voicelog.recognition.recogniser import Recogniser, Samples
from voicelog.vocabulary import Vocabulary, load_vocabulary


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


class BenchWhisper(WhisperRecogniser):
    """Whisper that can be told sentences, and keeps what it makes of a sound.

    What it makes of a sound before any word is expected is most of the work, and the same for
    every list of words.

    Args:
        options: how it listens.
        folder: where that is kept; None to keep nothing.
    """

    def __init__(self, options: WhisperOptions, folder: Path | None) -> None:
        self._sample = options.spelling_sample
        super().__init__(options)
        if folder:
            folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder

    def expect(self, hot_words: Sequence[str]) -> None:
        """Expect these; what ends in a full stop is a sentence, and stands before the sample."""
        sentences = [word for word in hot_words if word.endswith(".")]
        sample = " ".join([*sentences, self._sample])
        if sample != self._options.spelling_sample:
            self._options = replace(self._options, spelling_sample=sample)
            self._expected = None
        super().expect([word for word in hot_words if not word.endswith(".")])

    def _encode(self, samples: Samples) -> tuple[Any, int]:
        from ctranslate2 import StorageView  # noqa: PLC0415

        if self._folder is None:
            return super()._encode(samples)
        name = hashlib.sha256(samples.tobytes() + self.model.encode()).hexdigest()
        path = self._folder / f"{name}.npz"
        if path.exists():
            with np.load(path) as kept:
                return StorageView.from_array(kept["encoded"]), int(kept["frames"])
        encoded, frames = super()._encode(samples)
        np.savez(path, encoded=np.asarray(encoded), frames=frames)
        return encoded, frames


def _make_whisper(words: Callable[[], HotWords], kept: Path | None) -> Recogniser:
    ear = BenchWhisper(WhisperOptions(threads=1), kept / "encoded" if kept else None)
    return ExpectingRecogniser(ear, words)


def _make_vosk(_words: Callable[[], HotWords], _kept: Path | None) -> Recogniser:
    models = {model.name: model for model in find_models(model_folders())}
    return VoskRecogniser(VoskOptions(model_folder=models["vosk-bench"].folder, alternatives=0))


def _make_both(words: Callable[[], HotWords], kept: Path | None) -> Recogniser:
    reader = Reader(load_vocabulary(), ReadingOptions())
    opened, closed = _make_whisper(words, kept), _make_vosk(words, kept)
    return JoinedRecogniser(opened, closed, Joiner(reader, load_weights()))


MakeRecogniser = Callable[[Callable[[], HotWords], Path | None], Recogniser]
"""Makes a recogniser from what gives the words to expect, and a folder to keep work in."""

ENGINES: MappingProxyType[str, MakeRecogniser] = MappingProxyType(
    {"whisper": _make_whisper, "vosk": _make_vosk, "both": _make_both}
)

DEAF_TO_BIASING = frozenset({"vosk"})
"""Engines that can't be told what to expect; what they hear stands under "none"."""

BIASINGS: MappingProxyType[str, Callable[[Vocabulary], Biasing]] = MappingProxyType(
    {
        "none": lambda _vocabulary: Fixed(),
        "standing": lambda vocabulary: Fixed(*vocabulary.hot_words()),
        "moment": Moment,
        "everything": lambda vocabulary: Fixed(
            *vocabulary.hot_words(), *(concept.term for concept in vocabulary.concepts)
        ),
    }
)
"""Nothing; the standing list; that and what was said; as many terms as the prompt holds."""
