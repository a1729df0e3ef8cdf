"""Takes out what a recogniser made up: words that no speech was behind."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from voicelog.domain.note import Word
from voicelog.recognition.recogniser import Stretch

# Whisper's own bounds for silence: its guess that nobody spoke, together with words it
# hardly believes (openai/whisper, transcribe.py, no_speech_threshold and
# logprob_threshold; from memory).
_NO_SPEECH = 0.6
_UNLIKELY = -1.0

# Measured with the embedded model: of 36 kinds and levels of noise every reading lay at
# -1.29 or lower with a guess of 0.2 or higher; of 165 spoken notes, a quarter of them
# with noise only 5 dB below the voice, none lay below -1.03.
_DOUBTED = 0.15
_VERY_UNLIKELY = -1.2

_REACH_S = 0.3
"""How far from its true place a recogniser may put a word."""

# The detector notices soft first sounds late and soft last sounds not at all.
_MARGIN_S = 0.15

_LOOP_TURNS = 4
_LONGEST_LOOP_WORDS = 6
# The fastest speakers say some 8 words a second (common practice, no published source).
_FASTEST_WORD_S = 0.12


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
    """Return the words that speech was behind.

    Nothing is kept of a reading that the recogniser itself hardly believes in. Of the
    rest, a word goes if no speech was detected where it is said to be, and so do the
    turns of a loop that nobody could have spoken so fast.
    """
    if _is_disowned(evidence):
        return ()
    words = tuple(word for word in evidence.words if has_speech_behind(word, speech))
    return _without_loops(words)


def _is_disowned(evidence: Evidence) -> bool:
    guess, likelihood = evidence.no_speech_probability, evidence.mean_log_probability
    return (guess > _NO_SPEECH and likelihood < _UNLIKELY) or (
        guess > _DOUBTED and likelihood < _VERY_UNLIKELY
    )


def _without_loops(words: tuple[Word, ...]) -> tuple[Word, ...]:
    """Drop the further turns of a phrase repeated four times or more in no time."""
    kept: list[Word] = []
    at = 0
    while at < len(words):
        length, turns = _find_loop(words, at)
        kept.extend(words[at : at + length])
        at += length * turns
    return tuple(kept)


def _find_loop(words: tuple[Word, ...], at: int) -> tuple[int, int]:
    """Return the length of the phrase that loops here and its turns; (1, 1) if none."""
    for length in range(1, _LONGEST_LOOP_WORDS + 1):
        phrase = _texts(words[at : at + length])
        turns = 1
        while _texts(words[at + turns * length : at + (turns + 1) * length]) == phrase:
            turns += 1
        looped = words[at + length : at + turns * length]
        if turns >= _LOOP_TURNS and _duration_s(looped) < _FASTEST_WORD_S * len(looped):
            return length, turns
    return 1, 1


def _texts(words: tuple[Word, ...]) -> list[str]:
    return [word.text.casefold().strip(".,;:!?") for word in words]


def _duration_s(words: tuple[Word, ...]) -> float:
    return (words[-1].end_s or 0.0) - (words[0].start_s or 0.0)


def has_speech_behind(word: Word, speech: tuple[Stretch, ...]) -> bool:
    """Say whether speech was detected where the word is said to be, or close by."""
    start_s, end_s = word.start_s or 0.0, word.end_s or 0.0
    return any(
        start_s < part.end_s + _REACH_S and end_s > part.start_s - _REACH_S for part in speech
    )


def hold_to_speech(words: Iterable[Word], *, speech: tuple[Stretch, ...]) -> tuple[Word, ...]:
    """Return the words with times that keep to the speech they were heard in.

    A recogniser stretches the first word of a note back over the silence before it.
    """
    held = []
    for word in words:
        start_s, end_s = word.start_s or 0.0, word.end_s or 0.0
        parts = [part for part in speech if part.start_s < end_s and part.end_s > start_s]
        if parts:
            start_s = max(start_s, parts[0].start_s - _MARGIN_S)
            end_s = min(end_s, parts[-1].end_s + _MARGIN_S)
        held.append(replace(word, start_s=start_s, end_s=end_s))
    return tuple(held)
