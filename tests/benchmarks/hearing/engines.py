"""Who listens, and what they are told to expect. Both lists are open: add a line.

An engine is a name and a function that makes its recogniser; a biasing is a name and what
gives, before each note, the words to expect.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import find_models, model_folders
from voicelog.recognition.recogniser import Recogniser
from voicelog.vocabulary import Vocabulary

HotWords = tuple[str, ...]
MakeRecogniser = Callable[[HotWords], Recogniser]


def _make_whisper(hot_words: HotWords) -> Recogniser:
    return WhisperRecogniser(WhisperOptions(hot_words=hot_words, threads=1))


def _make_vosk(_hot_words: HotWords) -> Recogniser:
    models = {model.name: model for model in find_models(model_folders())}
    return VoskRecogniser(VoskOptions(model_folder=models["vosk-bench"].folder))


ENGINES: MappingProxyType[str, MakeRecogniser] = MappingProxyType(
    {"whisper": _make_whisper, "vosk": _make_vosk}
)

BIASINGS: MappingProxyType[str, Callable[[Vocabulary], HotWords]] = MappingProxyType(
    {
        "none": lambda _vocabulary: (),
        "standing": lambda vocabulary: vocabulary.hot_words(),
        "everything": lambda vocabulary: (
            *vocabulary.hot_words(),
            *(concept.term for concept in vocabulary.concepts),
        ),
    }
)
"""Nothing; the standing list; that and all preferred terms, as many as the prompt holds."""
