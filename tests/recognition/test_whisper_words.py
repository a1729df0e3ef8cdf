"""From Whisper's tokens to words: what belongs together, when, and how sure."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from voicelog.recognition.engines.whisper_words import make_words


@dataclass(frozen=True)
class Alignment:
    """What CTranslate2 returns: (token, moment) pairs at 50 moments a second, and odds."""

    alignments: list[tuple[int, int]]
    text_token_probs: list[float]


class Tokenizer:
    """One token is one of these pieces."""

    eot = 99
    pieces = (" 2031", "-", "007", ",", " leaf", ".")

    def split_to_word_tokens(self, tokens: list[int]) -> tuple[list[str], list[list[int]]]:
        """Split as faster-whisper does: before spaces and marks."""
        assert tokens == [0, 1, 2, 3, 4, 5, self.eot]
        return [" 2031", "-007", ",", " leaf", ".", "<end>"], [[0], [1, 2], [3], [4], [5], [99]]


def test_marks_stay_on_their_word_and_do_not_count() -> None:
    """The pause behind a comma belongs to no word, nor does the comma's probability."""
    alignment = Alignment(
        alignments=[(0, 0), (1, 50), (2, 60), (3, 75), (4, 125), (5, 150), (6, 200)],
        text_token_probs=[0.9, 0.5, 0.7, 0.01, 0.8, 0.02],
    )
    first, second = make_words([0, 1, 2, 3, 4, 5], alignment, tokenizer=Tokenizer())
    assert (first.text, first.start_s, first.end_s) == ("2031-007,", 0.0, 1.5)
    assert first.confidence == pytest.approx(0.7)
    assert (second.text, second.start_s, second.end_s) == ("leaf.", 2.5, 3.0)
    assert second.confidence == pytest.approx(0.8)


def test_nothing_written_is_no_words() -> None:
    empty = Alignment(alignments=[], text_token_probs=[])
    assert make_words([], empty, tokenizer=Tokenizer()) == ()
