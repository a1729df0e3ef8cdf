"""Takes out what a recogniser made up: words that no speech was behind."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.domain.note import Word
from voicelog.recognition.recogniser import Stretch

_REACH_S = 0.3
"""How far from its true place a recogniser may put a word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """A reading, and how sure the recogniser was that somebody spoke at all.

    Attributes:
        words: the reading, with times from the start of what was heard.
        mean_log_probability: mean natural logarithm of the tokens' probabilities.
        no_speech_probability: the recogniser's own guess that nobody spoke, 0..1.
    """

    words: tuple[Word, ...]
    mean_log_probability: float
    no_speech_probability: float


def keep_spoken(evidence: Evidence, *, speech: tuple[Stretch, ...]) -> tuple[Word, ...]:
    """Return the words that speech was behind."""
    return tuple(word for word in evidence.words if has_speech_behind(word, speech))


def has_speech_behind(word: Word, speech: tuple[Stretch, ...]) -> bool:
    """Say whether speech was detected where the word is said to be, or close by."""
    start_s, end_s = word.start_s or 0.0, word.end_s or 0.0
    return any(
        start_s < part.end_s + _REACH_S and end_s > part.start_s - _REACH_S for part in speech
    )
