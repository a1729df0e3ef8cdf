"""One reading out of two: where the ears differ, the likelier words are taken.

What both heard stands. Of the rest, each slot is decided by weighing what speaks for the
closed ear: how sure each is of itself, what kinds of words they are, and how much sense the
whole note makes with the one or the other. Words that are taken as they stand (captions,
remarks) and words that the closed ear does not know are always the open ear's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voicelog.domain.note import Word
from voicelog.extraction.reader import Reader
from voicelog.extraction.tokens import tokenize
from voicelog.hearing.alignment import Slot, align
from voicelog.hearing.evidence import (
    Evidence,
    describe_difference,
    describe_note,
    describe_word,
    probability,
    weigh,
)
from voicelog.hearing.pieces import UNKNOWN_WORD, Piece, cut_into_pieces
from voicelog.hearing.sense import Sense, SenseJudge
from voicelog.hearing.sounds import SoundDistance
from voicelog.hearing.weights import Weights
from voicelog.recognition.recogniser import NOTHING, Heard, make_heard

_SIGNS = ".,;:!?"
_ROUNDS = 2
"""Each decision looks at the whole note, so an early one is looked at again once."""
_NOTHING_AGREED = 0.3
"""Highest confidence of a word where the ears agree about nothing in the note: so low that its
value is queried, since one of the two must be wrong about everything."""


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


class Joiner:
    """Joins what two ears heard of a note; making one takes about two seconds.

    Args:
        reader: says how much sense a reading makes, and which words are terms.
        weights: how much each kind of evidence counts.
    """

    def __init__(self, reader: Reader, weights: Weights) -> None:
        self._weights = weights
        self._judge = SenseJudge(reader)
        self._sounds = SoundDistance()
        self._term_words = frozenset(
            token.norm
            for concept in reader.vocabulary.concepts
            for form in concept.forms()
            for token in tokenize(form)
        )

    def join(self, opened: Heard, closed: Heard) -> Heard:
        """Return one reading of a note; both readings stay among its alternatives.

        Where the open ear heard nothing at all, nothing was said: it hears speech of any kind,
        while the closed one finds its words in any sound.

        Args:
            opened: what the open ear heard.
            closed: what the closed ear heard.
        """
        if not opened.words:
            return NOTHING
        decisions = self.decide(opened.words, closed.words)
        words = [
            replace(word, confidence=round(self._chance_of(one, decisions), 4))
            for one, taken in zip(
                decisions, put_together(decisions, opened.words, closed.words), strict=True
            )
            for word in taken
        ]
        agree = all(one.slot.agrees for one in decisions)
        others = [] if agree else [opened.text, known_text(closed.words)]
        return make_heard(words, alternatives=[*others, *opened.alternatives])

    def decide(
        self, open_words: Sequence[Word], closed_words: Sequence[Word]
    ) -> tuple[Decision, ...]:
        """Return whose words stand in each slot of a note, in order."""
        slots = align(cut_into_pieces(open_words), cut_into_pieces(closed_words), self._sounds)
        decisions = [Decision(slot=slot) for slot in slots]
        for _ in range(_ROUNDS):
            for at, one in enumerate(decisions):
                evidence = self.describe(decisions, at, open_words, closed_words)
                if evidence is not None:
                    log_odds = weigh(evidence, self._weights.closed)
                    decisions[at] = replace(one, takes_closed=log_odds > 0, log_odds=log_odds)
        return tuple(decisions)

    def describe(
        self,
        decisions: Sequence[Decision],
        at: int,
        open_words: Sequence[Word],
        closed_words: Sequence[Word],
    ) -> Evidence | None:
        """Return what is to be weighed in one slot while the others stay as they are.

        Returns:
            the evidence; None where the open ear's words stand whatever speaks against them.
        """
        slot = decisions[at].slot
        if slot.agrees or slot.is_unknown:
            return None

        def judge(*, takes_closed: bool) -> Sense:
            tried = [*decisions]
            tried[at] = Decision(slot=slot, takes_closed=takes_closed)
            return self._judge.judge(_text_of(put_together(tried, open_words, closed_words)))

        with_open, with_closed = judge(takes_closed=False), judge(takes_closed=True)
        before = _text_of(put_together(decisions[:at], open_words, closed_words))
        verbatim_from = max(with_open.verbatim_from, with_closed.verbatim_from)
        if slot.open and len(before) + 1 >= verbatim_from:
            return None
        whole = describe_note(
            open_words,
            closed_words,
            of_open=self._judge.judge(" ".join(word.text for word in open_words)),
            of_closed=self._judge.judge(known_text(closed_words)),
        )
        return whole | describe_difference(
            slot,
            with_open=with_open,
            with_closed=with_closed,
            sounds=self._sounds,
            is_term_word=self._term_words.__contains__,
        )

    def describe_right(self, one: Decision, decisions: Sequence[Decision]) -> Evidence:
        """Return the evidence on whether the words taken for a slot of a note are right."""
        agreed = sum(other.slot.agrees for other in decisions) / len(decisions)
        return describe_word(
            one.slot, log_odds=one.log_odds, takes_closed=one.takes_closed, share_agreed=agreed
        )

    def _chance_of(self, one: Decision, decisions: Sequence[Decision]) -> float:
        chance = probability(weigh(self.describe_right(one, decisions), self._weights.right))
        disputed = [other for other in decisions if not other.slot.is_unknown]
        if disputed and not any(other.slot.agrees for other in disputed):
            return min(chance, _NOTHING_AGREED)
        return chance


def put_together(
    decisions: Sequence[Decision], open_words: Sequence[Word], closed_words: Sequence[Word]
) -> list[list[Word]]:
    """Return the words that stand in each slot.

    The open ear writes signs, which stand for pauses; where its words go, a sign stays behind.
    """
    taken: list[list[Word]] = []
    for one in decisions:
        opened = _words_behind(one.slot.open, open_words)
        if not one.takes_closed:
            taken.append(opened)
            continue
        sign = _closing_signs(opened[-1].text) if opened else ""
        closed = _words_behind(one.slot.closed, closed_words)
        words = [word for word in closed if word.text != UNKNOWN_WORD]
        taken.append(words)
        last = next((its_words for its_words in reversed(taken) if its_words), None)
        if sign and last is not None and not _closing_signs(last[-1].text):
            last[-1] = replace(last[-1], text=last[-1].text + sign)
    return taken


def known_text(words: Sequence[Word]) -> str:
    """Return the closed ear's reading without its mark for words that it doesn't know."""
    return " ".join(word.text for word in words if word.text != UNKNOWN_WORD)


def _words_behind(pieces: Sequence[Piece], words: Sequence[Word]) -> list[Word]:
    return [*words[pieces[0].first : pieces[-1].end]] if pieces else []


def _closing_signs(text: str) -> str:
    return text[len(text.rstrip(_SIGNS)) :]


def _text_of(taken: Sequence[Sequence[Word]]) -> str:
    return " ".join(word.text for its_words in taken for word in its_words)
