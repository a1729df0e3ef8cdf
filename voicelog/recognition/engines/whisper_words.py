"""Which words a row of Whisper's tokens is, when each was said and how sure it was."""

from __future__ import annotations

import string
from collections.abc import Sequence
from typing import Any

import numpy as np

from voicelog.domain.note import Word

_TOKENS_PER_S = 50


def make_words(tokens: Sequence[int], alignment: Any, *, tokenizer: Any) -> tuple[Word, ...]:
    """Return the words with times from the start of what was heard.

    A word's confidence is the mean probability of its tokens. Punctuation is written to
    the word before it, but neither its probability nor the pause it stands for counts.

    Args:
        tokens: the tokens of the text, without the end mark.
        alignment: CTranslate2's alignment of these tokens with the sound.
        tokenizer: the model's own tokenizer.
    """
    if not tokens or not alignment.alignments:
        return ()
    texts, pieces = tokenizer.split_to_word_tokens([*tokens, tokenizer.eot])
    edges = np.cumsum([0, *(len(piece) for piece in pieces[:-1])])
    begins_s = _token_times_s(alignment.alignments)
    words: list[Word] = []
    for text, first, last in zip(texts, edges[:-1], edges[1:], strict=False):
        bare = text.strip()
        if bare and all(character in string.punctuation for character in bare):
            words = _append_punctuation(words, bare)
        elif bare:
            words.append(
                Word(
                    text=bare,
                    start_s=float(begins_s[min(first, len(begins_s) - 1)]),
                    end_s=float(begins_s[min(last, len(begins_s) - 1)]),
                    confidence=_confidence(alignment.text_token_probs[first:last]),
                )
            )
    return tuple(words)


def _token_times_s(alignment: Sequence[tuple[int, int]]) -> np.ndarray[Any, Any]:
    """Return when each token begins: where the path through the sound moves on to it."""
    path = np.asarray(alignment)
    moves_on = np.diff(path[:, 0], prepend=-1) > 0
    times: np.ndarray[Any, Any] = path[moves_on, 1] / _TOKENS_PER_S
    return times


def _append_punctuation(words: list[Word], mark: str) -> list[Word]:
    """Write the mark to the last word; one before any word stands for nothing said."""
    if not words:
        return words
    last = words[-1]
    marked = Word(
        text=last.text + mark,
        start_s=last.start_s,
        end_s=last.end_s,
        confidence=last.confidence,
    )
    return [*words[:-1], marked]


def _confidence(probabilities: Sequence[float]) -> float:
    if not len(probabilities):
        return 0.0
    return round(min(1.0, max(0.0, float(np.mean(probabilities)))), 4)
