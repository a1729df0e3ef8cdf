"""Which words a row of Whisper's tokens is, when each was said and how sure it was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from voicelog.domain.note import Word

_TOKENS_PER_S = 50


def make_words(tokens: Sequence[int], alignment: Any, *, tokenizer: Any) -> tuple[Word, ...]:
    """Return the words with times from the start of what was heard.

    A word is what the model wrote between two spaces, marks included. Its confidence is
    the mean probability of its tokens; neither the probability of a mark nor the pause
    it stands for counts.

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
    probabilities = np.asarray(alignment.text_token_probs)
    words: list[Word] = []
    for parts in _join_parts(texts[:-1], edges.tolist()):
        spoken = [part for part in parts if not part.is_punctuation]
        if not spoken:
            # A dash or a full stop alone stands for nothing said.
            continue
        counted = np.concatenate([probabilities[part.first : part.last] for part in spoken])
        words.append(
            Word(
                text="".join(part.text for part in parts).strip(),
                start_s=float(begins_s[min(spoken[0].first, len(begins_s) - 1)]),
                end_s=float(begins_s[min(spoken[-1].last, len(begins_s) - 1)]),
                confidence=round(float(np.clip(counted.mean(), 0.0, 1.0)), 4),
            )
        )
    return tuple(words)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A stretch of tokens that is a word, a piece of one, or a punctuation mark."""

    text: str
    first: int
    last: int

    @property
    def is_punctuation(self) -> bool:
        return not any(character.isalnum() for character in self.text)


def _join_parts(texts: Sequence[str], edges: Sequence[int]) -> list[list[_Part]]:
    """Group what was written without a space between: "2031" and "-007" are one word."""
    groups: list[list[_Part]] = []
    for text, first, last in zip(texts, edges[:-1], edges[1:], strict=True):
        part = _Part(text=text, first=int(first), last=int(last))
        if groups and not text.startswith(" "):
            groups[-1].append(part)
        else:
            groups.append([part])
    return groups


def _token_times_s(alignment: Sequence[tuple[int, int]]) -> np.ndarray[Any, Any]:
    """Return when each token begins: where the path through the sound moves on to it."""
    path = np.asarray(alignment)
    moves_on = np.diff(path[:, 0], prepend=-1) > 0
    times: np.ndarray[Any, Any] = path[moves_on, 1] / _TOKENS_PER_S
    return times
