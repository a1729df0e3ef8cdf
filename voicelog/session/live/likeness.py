"""Whether what one recogniser heard may be the command that another one heard."""

from __future__ import annotations

import re
from collections.abc import Collection

from rapidfuzz.distance import Levenshtein

from voicelog.extraction.sounds.phones import Pronouncer

_ENOUGH = 0.4
"""Least similarity (1 - edit distance / longer length) of the sounds; chosen on spoken
commands and near misses by ``tests/benchmarks/live/commands.py``."""
_MOST_MORE_WORDS = 2
"""A command misheard falls into a word or two more, not into a sentence."""
_WORD = re.compile(r"[a-z']+")


class Likeness:
    """Compares by sound; making one takes about a second."""

    def __init__(self, wordings: Collection[str]) -> None:
        """Prepare to compare with these commands, in lower case."""
        self._wordings = frozenset(wordings)
        self._pronouncer = Pronouncer()

    def bears_out(self, command: str, heard: str) -> bool:
        """Say whether a full recogniser that heard this may have been given the command.

        It may not where it heard a command itself, since then its own words are the better
        evidence, nor where it heard nothing.

        Args:
            command: the command, in lower case.
            heard: what the full recogniser wrote.
        """
        words = _WORD.findall(heard.lower())
        if not words or " ".join(words) in self._wordings:
            return False
        if len(words) > len(command.split()) + _MOST_MORE_WORDS:
            return False
        return self.measure(command, heard) >= _ENOUGH

    def measure(self, command: str, heard: str) -> float:
        """Return how alike the two sound: 0 for not at all, 1 for the same."""
        meant, words = command.split(), _WORD.findall(heard.lower())
        one, other = self._pronouncer.phones(meant), self._pronouncer.phones(words)
        if one is None or other is None:
            one, other = "".join(meant), "".join(words)
        return Levenshtein.normalized_similarity(one, other)
