"""Vosk, the streaming Kaldi recogniser: small, fast, with a fixed vocabulary."""

from __future__ import annotations

import importlib.metadata
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from voicelog.domain.note import Word
from voicelog.errors import ModelDamaged, ModelUnfit, RecogniserError
from voicelog.recognition.invented import has_speech_behind
from voicelog.recognition.models.room import check_room
from voicelog.recognition.models.vosk_files import VoskFiles, check_vosk_files
from voicelog.recognition.recogniser import (
    NOTHING,
    SAMPLE_RATE_HZ,
    Heard,
    Samples,
    Segment,
    make_heard,
    shift_words,
)
from voicelog.recognition.segments import locate_speech

UNKNOWN_WORD = "[unk]"
"""What a vosk model writes for a word that it does not know, if it has a word for that."""

_ENGLISH = ("three", "seven", "eight", "fourteen", "twenty", "thirty", "leaf", "back")
"""Any English model knows these, however small; hardly any other knows half of them."""

_CHUNK_BYTES = 2 * SAMPLE_RATE_HZ // 4

# Our own models were trained on speech with peaks of 0 to -30 dB (models/recipe/augmentation.py).
_QUIETEST_PEAK = 10 ** (-30 / 20)
_AUDIBLE_PEAK = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class VoskOptions:
    """How vosk listens.

    Attributes:
        model_folder: where the model is; never looked up by name, which would download.
        word_list: hear only these words and phrases; None for everything the model knows.
            Others become "[unk]", where the model has that word; else whatever of the list
            is nearest, so that a list needs words for what may be said besides.
        alternatives: how many other readings to keep; 0 saves the second pass.
    """

    model_folder: Path
    word_list: tuple[str, ...] | None = None
    alternatives: int = 2


class VoskRecogniser:
    """Vosk on this machine's processor, one note at a time.

    Attributes:
        words_unknown: words of the word list that the model does not know.

    Raises:
        ModelMissing: there is no model in the folder.
        ModelDamaged: its files are not what they should be.
        ModelUnfit: it is of another language, or too large for this machine's memory.
        RecogniserError: the model can't be held to this word list.
    """

    engine = "vosk"

    def __init__(self, options: VoskOptions) -> None:
        self._options = options
        if options.model_folder.is_dir():
            check_room(options.model_folder)
        files = check_vosk_files(options.model_folder)
        self.model = f"{files.name} {files.sha256[:12]} (vosk {importlib.metadata.version('vosk')})"
        self._vosk, self._kaldi_model = _load(files)
        self._check_language(files)
        self.words_unknown = tuple(
            word
            for word in dict.fromkeys(" ".join(options.word_list or ()).lower().split())
            if self._kaldi_model.vosk_model_find_word(word) < 0
        )
        self._grammar = self._make_grammar(files)

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment; nothing where nobody spoke."""
        speech = locate_speech(segment)
        if not speech:
            return NOTHING
        sound = _as_pcm(_make_audible(segment.samples))
        words = [word for word in self._words(sound) if has_speech_behind(word, speech)]
        if not words:
            return NOTHING
        return make_heard(
            shift_words(words, by_s=segment.start_s), alternatives=self._alternatives(sound)
        )

    def open_stream(self) -> VoskStream:
        """Return what hears one note while it is being spoken."""
        return VoskStream(self._make_kaldi())

    def _words(self, sound: bytes) -> Iterator[Word]:
        kaldi = self._make_kaldi()
        kaldi.SetWords(enable_words=True)
        for result in _results(kaldi, sound):
            yield from _read_words(result)

    def _alternatives(self, sound: bytes) -> list[str]:
        """Return whole readings, best first; a second pass, since vosk gives either or."""
        if not self._options.alternatives:
            return []
        kaldi = self._make_kaldi()
        kaldi.SetMaxAlternatives(1 + self._options.alternatives)
        results = [result["alternatives"] for result in _results(kaldi, sound)]
        stretches = [readings for readings in results if any(r["text"] for r in readings)]
        # Readings of one stretch say nothing about the whole where vosk cut it up.
        return [reading["text"] for reading in stretches[0]] if len(stretches) == 1 else []

    def _check_language(self, files: VoskFiles) -> None:
        """Make sure that the model knows what every English model for notes must know."""
        known = [self._kaldi_model.vosk_model_find_word(word) >= 0 for word in _ENGLISH]
        if sum(known) <= len(known) / 2:
            raise ModelUnfit(
                f"The vosk model {files.name} at {files.folder} is not English: it doesn't know "
                f"words such as {_ENGLISH[0]!r}; use an English one ('voicelog models')."
            )

    def _make_kaldi(self) -> Any:
        arguments = [self._kaldi_model, float(SAMPLE_RATE_HZ)]
        if self._grammar is not None:
            arguments.append(self._grammar)
        return self._vosk.KaldiRecognizer(*arguments)

    def _make_grammar(self, files: VoskFiles) -> str | None:
        if self._options.word_list is None:
            return None
        if not files.takes_word_list:
            raise RecogniserError(
                f"The vosk model {files.name} can't be held to a word list; leave the list out, "
                "or use a model with an open graph (small or lgraph)."
            )
        unknown = set(self.words_unknown)
        phrases = [
            phrase
            for phrase in (" ".join(entry.lower().split()) for entry in self._options.word_list)
            if phrase and not unknown.intersection(phrase.split())
        ]
        if not phrases:
            raise RecogniserError(
                f"The vosk model {files.name} knows none of the words in the word list; "
                "use another list or another model."
            )
        # Asked for a word that it lacks, vosk would complain on standard error each time.
        knows_unknown = self._kaldi_model.vosk_model_find_word(UNKNOWN_WORD) >= 0
        return json.dumps([*phrases, UNKNOWN_WORD] if knows_unknown else phrases)


class VoskStream:
    """One note as it is being spoken: words while there are words, times at its end."""

    def __init__(self, kaldi: Any) -> None:
        kaldi.SetWords(enable_words=True)
        self._kaldi = kaldi
        self._done: list[Word] = []

    def push(self, samples: Samples) -> str:
        """Take the next sound; return the words heard so far."""
        if self._kaldi.AcceptWaveform(_as_pcm(samples)):
            self._done += _read_words(json.loads(self._kaldi.Result()))
        partial = json.loads(self._kaldi.PartialResult()).get("partial", "")
        return " ".join([*(word.text for word in self._done), *partial.split()])

    def finish(self) -> tuple[Word, ...]:
        """Return the words, with times from the first sound that was pushed."""
        return (*self._done, *_read_words(json.loads(self._kaldi.FinalResult())))


def _read_words(result: dict[str, Any]) -> Iterator[Word]:
    for word in result.get("result", ()):
        yield Word(
            text=word["word"],
            start_s=word["start"],
            end_s=word["end"],
            confidence=round(min(1.0, word["conf"]), 4),
        )


def _make_audible(samples: Samples) -> Samples:
    """Return sound that is quieter than anything the models have learnt, made louder.

    At a peak of -46 dB the model of our own hears 56 % of 499 words wrong, louder 11 % of 210
    (tests/benchmarks/hearing).
    """
    peak = float(np.abs(samples).max(initial=0.0))
    if not 0 < peak < _QUIETEST_PEAK:
        return samples
    louder: Samples = samples * np.float32(_AUDIBLE_PEAK / peak)
    return louder


def _as_pcm(samples: Samples) -> bytes:
    pcm: bytes = (np.clip(samples, -1.0, 1.0) * 32767).astype("<i2").tobytes()
    return pcm


def _results(kaldi: Any, sound: bytes) -> Iterator[dict[str, Any]]:
    for start in range(0, len(sound), _CHUNK_BYTES):
        if kaldi.AcceptWaveform(sound[start : start + _CHUNK_BYTES]):
            yield json.loads(kaldi.Result())
    yield json.loads(kaldi.FinalResult())


def _load(files: VoskFiles) -> tuple[Any, Any]:
    # Importing vosk opens its library: only a run that listens with it may cost that.
    import vosk  # type: ignore[import-untyped]  # noqa: PLC0415

    vosk.SetLogLevel(-1)
    try:
        return vosk, vosk.Model(str(files.folder))
    except Exception as error:
        # Plain Exception is what vosk raises.
        raise ModelDamaged(
            f"The vosk model at {files.folder} can't be loaded; fetch or copy it again."
        ) from error
