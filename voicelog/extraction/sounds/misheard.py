"""Finding the trade word that was said where something that sounds like it was heard.

Only words that fit nothing are looked at, and only where they stand by themselves as a
term would: a short stretch between pauses or recognised words. What sounds nearly like a
term, and like one term more than any other, is taken for it; the words heard stay in the
note, and the value gets a doubt that says what was heard.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.sounds.phones import Pronouncer
from voicelog.extraction.tokens import Token

LONGEST_STRETCH = 3
"""Words; what is longer is speech about something else."""
SHORTEST_PHONES = 4
"""Shorter stretches sound like too many things."""
NEAREST = 0.75
"""Least similarity (1 - edit distance / longer length) for a repair; chosen on the tuning
sessions and checked by the false repair rate on ordinary English."""
MARGIN = 0.08
"""By how much the best term must beat the best term of another meaning."""


@dataclass(frozen=True, slots=True)
class Form:
    """One wording and what it means (two wordings of one concept share the meaning)."""

    words: tuple[str, ...]
    meaning: str


class MishearingRepair:
    """Replaces stretches that sound like a term by that term.

    Args:
        forms: the wordings that may have been said.
        known_words: words the language knows; a stretch of nothing but them was heard right.
    """

    def __init__(self, forms: Iterable[Form], known_words: frozenset[str]) -> None:
        self._forms = tuple(forms)
        self._known_words = known_words
        self._pronouncer: Pronouncer | None = None
        self._phones: list[str] = []
        self._spoken: list[Form] = []

    def apply(self, tokens: tuple[Token, ...], marks: Sequence[Mark]) -> tuple[Token, ...]:
        """Return the tokens with misheard terms put right."""
        stretches = list(self._stretches(tokens, marks))
        if not stretches:
            return tokens
        self._load()
        repaired: list[Token] = []
        cursor = 0
        for first, end in stretches:
            found = self._find(tokens[first:end])
            if found is None:
                continue
            repaired += tokens[cursor:first]
            repaired += _rewrite(tokens[first:end], found.words)
            cursor = end
        repaired += tokens[cursor:]
        return tuple(repaired)

    def _stretches(
        self, tokens: tuple[Token, ...], marks: Sequence[Mark]
    ) -> Iterable[tuple[int, int]]:
        """Yield short runs of words that no mark covers, bounded by pauses or marks."""
        covered = {at for mark in marks if _is_boundary(mark) for at in range(mark.first, mark.end)}
        at = 0
        while at < len(tokens):
            if at in covered or not tokens[at].is_word:
                at += 1
                continue
            end = at
            while end < len(tokens) and end not in covered and tokens[end].is_word:
                end += 1
            words = {token.norm for token in tokens[at:end]}
            if end - at <= LONGEST_STRETCH and not words <= self._known_words:
                yield at, end
            at = end

    def _load(self) -> None:
        if self._pronouncer is not None:
            return
        self._pronouncer = Pronouncer()
        for form in self._forms:
            phones = self._pronouncer.phones(form.words)
            if phones is not None and len(phones) >= SHORTEST_PHONES:
                self._phones.append(phones)
                self._spoken.append(form)

    def _find(self, heard: Sequence[Token]) -> Form | None:
        assert self._pronouncer is not None  # noqa: S101 - apply() has loaded it
        phones = self._pronouncer.phones([token.norm for token in heard])
        if phones is None or len(phones) < SHORTEST_PHONES:
            return None
        best = process.extract(
            phones,
            self._phones,
            scorer=Levenshtein.normalized_similarity,
            limit=8,
            score_cutoff=NEAREST - MARGIN,
        )
        if not best or best[0][1] < NEAREST:
            return None
        chosen = self._spoken[best[0][2]]
        rivals = [score for _, score, at in best if self._spoken[at].meaning != chosen.meaning]
        if rivals and best[0][1] - max(rivals) < MARGIN:
            return None
        return chosen


def _is_boundary(mark: Mark) -> bool:
    """Whether a mark bounds a stretch: values and captions do, words such as "with a" don't."""
    return mark.kind is not MarkKind.CUE or isinstance(mark.value, tuple)


def _rewrite(heard: Sequence[Token], meant: tuple[str, ...]) -> list[Token]:
    """Put the meant words in place of the heard ones, over the same stretch of text."""
    whole = replace(
        heard[0],
        text=" ".join(token.text for token in heard),
        last=heard[-1].last,
        guessed=True,
    )
    return [replace(whole, norm=word, glued=False, repaired=True) for word in meant]
