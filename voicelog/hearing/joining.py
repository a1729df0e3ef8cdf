"""One reading out of two: where the ears differ, the likelier words are taken.

What both heard stands. Of the rest, each slot is decided by weighing what speaks for the
closed ear: how sure each is of itself, what kinds of words they are, and how much sense the
whole note makes with the one or the other. Words that are taken as they stand (captions,
remarks) and words that the closed ear does not know are always the open ear's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voicelog.extraction.reader import Reader
from voicelog.extraction.tokens import tokenize
from voicelog.hearing.alignment import align
from voicelog.hearing.evidence import (
    Evidence,
    describe_difference,
    describe_note,
    describe_word,
    probability,
    weigh,
)
from voicelog.hearing.readings import Decision, Readings
from voicelog.hearing.sense import SenseJudge
from voicelog.hearing.sounds import SoundDistance
from voicelog.hearing.weights import Weights
from voicelog.recognition.recogniser import NOTHING, Heard, Opinion, make_heard

_ROUNDS = 2
"""Each decision looks at the whole note, so an early one is looked at again once."""
_NOTHING_AGREED = 0.15
"""Highest confidence of a word where the ears agree about nothing in the note: so low that its
value is queried, since one of the two must be wrong about everything."""


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

    def join(self, opened: Heard, closed: Heard, opinion: Opinion | None = None) -> Heard:
        """Return one reading of a note; both readings stay among its alternatives.

        Where the open ear heard nothing at all, nothing was said: it hears speech of any kind,
        while the closed one finds its words in any sound.

        Args:
            opened: what the open ear heard.
            closed: what the closed ear heard.
            opinion: what the open ear makes of words that it did not write; None where it
                can't be asked.
        """
        if not opened.words:
            return NOTHING
        readings = Readings(opened.words, closed.words, opinion)
        decisions = self.decide(readings)
        words = [
            replace(word, confidence=round(self._chance_of(one, decisions, readings), 4))
            for one, taken in zip(decisions, readings.put_together(decisions), strict=True)
            for word in taken
        ]
        agree = all(one.slot.agrees for one in decisions)
        others = [] if agree else [opened.text, readings.closed_text]
        return make_heard(words, alternatives=[*others, *opened.alternatives])

    def decide(self, readings: Readings) -> tuple[Decision, ...]:
        """Return whose words stand in each slot of a note, in order."""
        slots = align(readings.open_pieces, readings.closed_pieces, self._sounds)
        decisions = [Decision(slot=slot) for slot in slots]
        for _ in range(_ROUNDS):
            for at, one in enumerate(decisions):
                evidence = self.describe(decisions, at, readings)
                if evidence is not None:
                    log_odds = weigh(evidence, self._weights.closed)
                    decisions[at] = replace(one, takes_closed=log_odds > 0, log_odds=log_odds)
        return tuple(decisions)

    def describe(
        self, decisions: Sequence[Decision], at: int, readings: Readings
    ) -> Evidence | None:
        """Return what is to be weighed in one slot while the others stay as they are.

        Returns:
            the evidence; None where the open ear's words stand whatever speaks against them.
        """
        slot = decisions[at].slot
        if slot.agrees or slot.is_unknown:
            return None
        texts = [
            readings.text([*decisions[:at], tried, *decisions[at + 1 :]])
            for tried in (Decision(slot=slot), Decision(slot=slot, takes_closed=True))
        ]
        with_open, with_closed = map(self._judge.judge, texts)
        before = readings.text(decisions[:at])
        verbatim_from = max(with_open.verbatim_from, with_closed.verbatim_from)
        if slot.open and len(before) + 1 >= verbatim_from:
            return None
        whole = describe_note(
            readings.open_words,
            readings.closed_words,
            of_open=self._judge.judge(readings.open_text),
            of_closed=self._judge.judge(readings.closed_text),
        )
        return whole | describe_difference(
            slot,
            with_open=with_open,
            with_closed=with_closed,
            belief=readings.belief_in(slot.closed),
            sounds=self._sounds,
            is_term_word=self._term_words.__contains__,
        )

    def describe_right(
        self, one: Decision, decisions: Sequence[Decision], readings: Readings
    ) -> Evidence:
        """Return the evidence on whether the words taken for a slot of a note are right."""
        return describe_word(
            one.slot,
            log_odds=one.log_odds,
            takes_closed=one.takes_closed,
            belief=readings.belief_in(one.slot.closed) if one.takes_closed else None,
            share_agreed=sum(other.slot.agrees for other in decisions) / len(decisions),
        )

    def _chance_of(self, one: Decision, decisions: Sequence[Decision], readings: Readings) -> float:
        evidence = self.describe_right(one, decisions, readings)
        chance = probability(weigh(evidence, self._weights.right))
        disputed = [other for other in decisions if not other.slot.is_unknown]
        if disputed and not any(other.slot.agrees for other in disputed):
            return min(chance, _NOTHING_AGREED)
        return chance
