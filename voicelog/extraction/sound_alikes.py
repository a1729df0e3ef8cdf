"""Putting back the word that was said where a recogniser wrote one that sounds like it.

Only the form that grammars look at changes; the note keeps what was heard, and values
read from a repaired word have the heard words as their origin.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from voicelog.extraction.language.phrases import SoundAlike
from voicelog.extraction.numbers.cardinals import read_atom
from voicelog.extraction.numbers.words import TEENS, TENS, UNITS
from voicelog.extraction.tokens import Token

_PLACE_WORDS = frozenset({"recto", "verso", "leaf", "page", "cover", "over"})


class SoundAlikeRepair:
    """Replaces sound-alikes by what was meant, where their surroundings say so.

    Args:
        sound_alikes: the repairs, longest first.
        is_term_word: told a word, says whether it is part of the vocabulary.
        is_plural: told a word, says whether it ends the plural of an item type.
    """

    def __init__(
        self,
        sound_alikes: Sequence[SoundAlike],
        is_term_word: Callable[[str], bool],
        is_plural: Callable[[str], bool],
    ) -> None:
        self._is_plural = is_plural
        self._by_first: dict[str, list[SoundAlike]] = {}
        for repair in sound_alikes:
            self._by_first.setdefault(repair.heard[0], []).append(repair)
        self._is_term_word = is_term_word

    def apply(self, tokens: tuple[Token, ...]) -> tuple[Token, ...]:
        """Return the tokens with sound-alikes repaired."""
        if not any(token.norm in self._by_first for token in tokens):
            return tokens
        repaired: list[Token] = []
        index = 0
        while index < len(tokens):
            repair = self._find(tokens, index)
            if repair is None:
                repaired.append(tokens[index])
                index += 1
                continue
            end = index + len(repair.heard)
            repaired += _rewrite(tokens[index:end], repair.meant)
            index = end
        return tuple(repaired)

    def _find(self, tokens: tuple[Token, ...], index: int) -> SoundAlike | None:
        for repair in self._by_first.get(tokens[index].norm, ()):
            end = index + len(repair.heard)
            if tuple(token.norm for token in tokens[index:end]) != repair.heard:
                continue
            if repair.before and not any(
                self._stands_before(tokens, index, what) for what in repair.before
            ):
                continue
            if repair.after and not any(
                self._stands_after(tokens, end, what) for what in repair.after
            ):
                continue
            return repair
        return None

    def _stands_before(self, tokens: tuple[Token, ...], index: int, what: str) -> bool:
        if what == "start":
            return index == 0
        if index == 0:
            return False
        before = tokens[index - 1].norm
        if what == "pause":
            return not tokens[index - 1].is_word
        if what == "place":
            return before in _PLACE_WORDS or before.isdecimal() or before in UNITS | TEENS | TENS
        if what == "value":
            return before in {",", "and"} or self._is_term_word(before)
        words = what.split()
        return tuple(token.norm for token in tokens[max(0, index - len(words)) : index]) == tuple(
            words
        )

    def _stands_after(self, tokens: tuple[Token, ...], end: int, what: str) -> bool:
        if what == "end":
            return end == len(tokens) or not tokens[end].is_word
        if end >= len(tokens):
            return False
        if what == "number":
            return tokens[end].norm != "a" and read_atom(tokens, end) is not None
        if what == "plural":
            near = tokens[end : end + 3]
            return self._is_term_word(near[0].norm) and any(
                self._is_plural(token.norm) for token in near
            )
        if what == "value":
            return end + 1 == len(tokens) and self._is_term_word(tokens[end].norm)
        if what == "number word":
            return tokens[end].norm == "number"
        return tokens[end].norm == what


def _rewrite(heard: tuple[Token, ...], meant: tuple[str, ...]) -> list[Token]:
    """Spread the meant words over the tokens heard; the last one takes what is left."""
    rewritten: list[Token] = []
    for position, word in enumerate(meant):
        source = heard[min(position, len(heard) - 1)]
        last = heard[-1].last if position == len(meant) - 1 else source.last
        text_end = heard[-1] if position == len(meant) - 1 else source
        rewritten.append(replace(source, norm=word, text=text_end.text, last=last, repaired=True))
    return rewritten
