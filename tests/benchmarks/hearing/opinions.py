"""What whisper makes of words for a clip that it did not write itself, kept like what it heard.

``opinions/VOICE.jsonl`` of the cache holds a line for each reading that was ever weighed: ``clip``,
``words`` and for each word its weight, a natural logarithm.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path

from tests.benchmarks.hearing.cache import HearingCache
from tests.benchmarks.hearing.conditions import CLEAN, apply_condition
from tests.benchmarks.hearing.engines import BenchWhisper
from voicelog.recognition.engines.whisper import WhisperOpinion, WhisperOptions
from voicelog.recognition.recogniser import Opinion, Samples
from voicelog.vocabulary import load_vocabulary


class Opinions:
    """Whisper's opinions on the clips of a cache, told the standing words.

    Args:
        cache: has the sound.
    """

    def __init__(self, cache: HearingCache) -> None:
        self._cache = cache
        self._kept: dict[str, dict[tuple[str, tuple[str, ...]], tuple[float, ...]]] = {}
        self._formed: tuple[tuple[str, str], WhisperOpinion] | None = None

    def on(self, voice: str, clip: str) -> Opinion:
        """Return what can be asked about one clip."""
        return _Kept(self, voice, clip)

    def weigh(self, voice: str, clip: str, words: Sequence[str]) -> tuple[float, ...]:
        """Return the opinion on some words, formed now where it never was before."""
        path = self._cache.folder / "opinions" / f"{voice}.jsonl"
        if voice not in self._kept:
            self._kept[voice] = _read(path)
        key = clip, tuple(words)
        if key not in self._kept[voice]:
            weights = self._form(voice, clip).weigh(words)
            self._kept[voice][key] = weights
            path.parent.mkdir(exist_ok=True)
            line = {"clip": clip, "words": list(words), "weights": weights}
            with path.open("a", encoding="utf-8") as stream:
                stream.write(json.dumps(line) + "\n")
        return self._kept[voice][key]

    def _form(self, voice: str, clip: str) -> WhisperOpinion:
        if self._formed is None or self._formed[0] != (voice, clip):
            clean = self._cache.sound(voice, clip, _not_spoken)
            sound = apply_condition(CLEAN, clean, seed=f"{voice} {clip}")
            self._formed = ((voice, clip), self._ear.form_opinion(sound))
        return self._formed[1]

    @cached_property
    def _ear(self) -> BenchWhisper:
        words = load_vocabulary().hot_words()
        options = WhisperOptions(threads=1, hot_words=words)
        return BenchWhisper(options, self._cache.folder / "encoded")


class _Kept:
    def __init__(self, opinions: Opinions, voice: str, clip: str) -> None:
        self._opinions = opinions
        self._voice = voice
        self._clip = clip

    def weigh(self, words: Sequence[str]) -> tuple[float, ...]:
        return self._opinions.weigh(self._voice, self._clip, words)


def _read(path: Path) -> dict[tuple[str, tuple[str, ...]], tuple[float, ...]]:
    if not path.exists():
        return {}
    lines = map(json.loads, path.read_text("utf-8").splitlines())
    return {(line["clip"], tuple(line["words"])): tuple(line["weights"]) for line in lines}


def _not_spoken() -> Samples:
    raise FileNotFoundError("The cache has no sound of a clip that it says was heard.")
