"""The two readings of one note, and the joined one that decisions make of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from voicelog.domain.note import Word
from voicelog.hearing.alignment import Slot
from voicelog.hearing.pieces import UNKNOWN_WORD, Piece, cut_into_pieces
from voicelog.recognition.recogniser import Opinion

_SIGNS = ".,;:!?"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """Whose words stand in a slot.

    Attributes:
        slot: what both ears heard.
        takes_closed: whether the closed ear's words stand.
        log_odds: how much spoke for the closed ear; 0 where nothing was to be weighed.
    """

    slot: Slot
    takes_closed: bool = False
    log_odds: float = 0.0


class Readings:
    """What both ears heard of one note.

    Args:
        open_words: the open ear's reading.
        closed_words: the closed ear's.
        opinion: what the open ear makes of words that it did not write, or None.
    """

    def __init__(
        self,
        open_words: Sequence[Word],
        closed_words: Sequence[Word],
        opinion: Opinion | None = None,
    ) -> None:
        self.open_words = open_words
        self.closed_words = closed_words
        self.open_pieces = cut_into_pieces(open_words)
        self.closed_pieces = cut_into_pieces(closed_words)
        self._opinion = opinion

    @property
    def open_text(self) -> str:
        """The open ear's reading."""
        return " ".join(word.text for word in self.open_words)

    @property
    def closed_text(self) -> str:
        """The closed ear's reading without its mark for words that it doesn't know."""
        return " ".join(word.text for word in self.closed_words if word.text != UNKNOWN_WORD)

    def put_together(self, decisions: Sequence[Decision]) -> list[list[Word]]:
        """Return the words that stand in each slot.

        Of the open ear's words that go only the capital of the first one stays. Their signs go
        with them, and so does one right before them: a comma is written for what comes next,
        and where that is wrong the comma often is.
        """
        taken: list[list[Word]] = []
        before: list[Word] = []
        for one in decisions:
            opened = _words_behind(one.slot.open, self.open_words)
            if not one.takes_closed:
                taken.append(opened)
                before = opened or before
                continue
            closed = _words_behind(one.slot.closed, self.closed_words)
            words = [word for word in closed if word.text != UNKNOWN_WORD]
            if words and opened and opened[0].text[:1].isupper():
                words[0] = replace(words[0], text=words[0].text[:1].upper() + words[0].text[1:])
            if words and before:
                before[-1] = replace(
                    before[-1], text=before[-1].text.rstrip(_SIGNS) or before[-1].text
                )
            taken.append(words)
            before = words or before
        return taken

    def text(self, decisions: Sequence[Decision]) -> str:
        """Return the joined reading of some slots."""
        return " ".join(word.text for words in self.put_together(decisions) for word in words)

    def belief_in(self, pieces: Sequence[Piece]) -> float | None:
        """Return what the open ear makes of pieces of the closed ear's reading.

        Returns:
            the mean natural logarithm of how likely it finds each of them after those before
            it; None where nobody can be asked, or there is none that is a word.
        """
        beliefs = [self._beliefs[piece.first] for piece in pieces if piece.first in self._beliefs]
        return sum(beliefs) / len(beliefs) if beliefs else None

    @cached_property
    def _beliefs(self) -> dict[int, float]:
        """By the first word of each piece; the whole reading is asked about at once."""
        known = [piece for piece in self.closed_pieces if not piece.is_unknown]
        if self._opinion is None or not known:
            return {}
        # The open ear writes numbers in digits, and would find their words strange.
        words = [piece.key if piece.is_number else piece.spoken[0] for piece in known]
        weighed = self._opinion.weigh(words)
        return {piece.first: weight for piece, weight in zip(known, weighed, strict=True)}


def _words_behind(pieces: Sequence[Piece], words: Sequence[Word]) -> list[Word]:
    return [*words[pieces[0].first : pieces[-1].end]] if pieces else []
