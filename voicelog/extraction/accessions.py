"""Accession numbers against the repository's patterns and register.

A number in the register is written as the register writes it. One that misses a known
number by one sign is taken for it, with a doubt; one that nothing is near keeps its words
and gets a doubt too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein

from voicelog.extraction.options import ReadingOptions

_SIGNS = re.compile(r"[^0-9A-Z]")
_SEPARATORS = "-./ "
NEAR_MISS = 1
"""Signs by which a number may differ from a known one and still be taken for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedAccession:
    """An accession number as the repository writes it, and what is doubtful about it."""

    text: str
    doubts: tuple[str, ...] = ()


class AccessionCheck:
    """Knows the shapes that accession numbers may have and the numbers in use."""

    def __init__(self, options: ReadingOptions) -> None:
        self._patterns = tuple(re.compile(pattern) for pattern in options.accession_patterns)
        self._known = {_bare(known): known for known in options.known_accessions}

    def check(self, said: str) -> CheckedAccession:
        """Return the number in the repository's writing, with doubts where it has none."""
        if self._known:
            return self._look_up(said)
        if not self._patterns or self._fits(said):
            return CheckedAccession(text=said)
        shaped = self._reshape(said)
        if shaped is not None:
            return CheckedAccession(text=shaped)
        return CheckedAccession(
            text=said, doubts=(f"accession {said} has none of the shapes in the settings",)
        )

    def is_known(self, said: str) -> bool:
        """Whether the number is in the register, whatever its separators."""
        return _bare(said) in self._known

    def _look_up(self, said: str) -> CheckedAccession:
        bare = _bare(said)
        if bare in self._known:
            return CheckedAccession(text=self._known[bare])
        near = [
            known
            for signs, known in self._known.items()
            if Levenshtein.distance(bare, signs, score_cutoff=NEAR_MISS) <= NEAR_MISS
        ]
        if len(near) == 1:
            return CheckedAccession(
                text=near[0],
                doubts=(f"accession {said} is not in the register; taken as {near[0]}",),
            )
        return CheckedAccession(text=said, doubts=(f"accession {said} is not in the register",))

    def _fits(self, text: str) -> bool:
        return any(pattern.fullmatch(text) for pattern in self._patterns)

    def _reshape(self, said: str) -> str | None:
        """Put in or change one separator, where only one way fits a pattern."""
        bare = _bare(said)
        candidates = {
            f"{bare[:at]}{sign}{bare[at:]}" for at in range(1, len(bare)) for sign in _SEPARATORS
        } | {re.sub(r"[-./ ]", sign, said) for sign in _SEPARATORS}
        fitting = sorted(one for one in candidates if self._fits(one))
        return fitting[0] if len(fitting) == 1 else None


def _bare(text: str) -> str:
    return _SIGNS.sub("", text.upper())
