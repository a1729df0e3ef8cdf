"""Plurals and the two spellings of English, so that term files needn't list them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import product

# British and American stems, and the endings that both take. From memory of common usage, no
# published source; words of the bench first. A stem that needs another ending stands alone.
_SPELLINGS = (
    ("colour", "color", "s|ed|ing|ful|less|ation"),
    ("discolour", "discolor", "s|ed|ing|ation"),
    ("watercolour", "watercolor", "s|ed|ist"),
    ("multicolour", "multicolor", "ed"),
    ("grey", "gray", "s|ed|ing|ish"),
    ("mould", "mold", "s|ed|ing|y"),
    ("odour", "odor", "s|less"),
    ("favour", "favor", "s|ed|ite|ites"),
    ("honour", "honor", "s|ed|able"),
    ("harbour", "harbor", "s"),
    ("neighbour", "neighbor", "s|hood"),
    ("parlour", "parlor", "s"),
    ("programme", "program", "s"),
    ("centre", "center", "s"),
    ("centred", "centered", ""),
    ("theatre", "theater", "s"),
    ("fibre", "fiber", "s"),
    ("millimetre", "millimeter", "s"),
    ("centimetre", "centimeter", "s"),
    ("plasticiser", "plasticizer", "s"),
    ("digitis", "digitiz", "e|ed|ing|ation"),
    ("pencill", "pencil", "ed|ing"),
    ("labell", "label", "ed|ing"),
    ("catalogue", "catalog", "s"),
    ("jewellery", "jewelry", ""),
    ("aluminium", "aluminum", ""),
    ("artefact", "artifact", "s"),
)
# Endings without which these stems are another word, or none.
_NEVER_BARE = frozenset({"digitis", "pencill", "labell", "multicolour"})

_MOST_VARYING_WORDS = 4
_WORD = re.compile(r"(\W+)")

# Words whose plural is on the first part: "locks of hair", "books of matches".
_HEAD_FIRST = re.compile(r"^(\S+)( (?:of|for|in|to|from) .+)$")
_TAKES_ES = re.compile(r"(?:s|x|z|ch|sh)$")
_CONSONANT_Y = re.compile(r"[^aeiou]y$")


def spelling_variants(form: str) -> tuple[str, ...]:
    """Return the form as it stands and every other way to spell its words.

    Recognisers mix the two spellings of English in one note, so each word varies alone.

    >>> spelling_variants("colour photograph")
    ('colour photograph', 'color photograph')
    >>> spelling_variants("gray mould")
    ('gray mould', 'gray mold', 'grey mould', 'grey mold')
    """
    pieces: list[tuple[str, ...]] = []
    for piece in _WORD.split(form):
        others = (in_british(piece), in_american(piece))
        # Longer wordings with many such words don't occur; without a limit they'd explode.
        is_open = sum(len(earlier) > 1 for earlier in pieces) < _MOST_VARYING_WORDS
        pieces.append(tuple(dict.fromkeys((piece, *others))) if is_open else (piece,))
    return tuple("".join(chosen) for chosen in product(*pieces))


def in_british(form: str) -> str:
    """Return the form in British spelling.

    >>> in_british("color photograph"), in_british("a labeled box"), in_british("programmed")
    ('colour photograph', 'a labelled box', 'programmed')
    """
    return _respell(form, _AMERICAN_WORD, _TO_BRITISH)


def in_american(form: str) -> str:
    """Return the form in American spelling.

    >>> in_american("Mouldy grey programme"), in_american("greyhound")
    ('Moldy gray program', 'greyhound')
    """
    return _respell(form, _BRITISH_WORD, _TO_AMERICAN)


def plural_forms(form: str) -> tuple[str, ...]:
    """Return the plural of a noun, or nothing for a form that is none.

    >>> plural_forms("postcard"), plural_forms("lock of hair"), plural_forms("obituary")
    (('postcards',), ('locks of hair',), ('obituaries',))
    """
    if head := _HEAD_FIRST.match(form):
        return tuple(f"{plural}{head[2]}" for plural in plural_forms(head[1]))
    if form.endswith(("s", "ed", "ing", "down", " in", " on")) and not form.endswith(
        ("ss", "us", "clipping", "cutting", "drawing")
    ):
        return ()
    if _CONSONANT_Y.search(form):
        return (f"{form[:-1]}ies",)
    return (f"{form}es",) if _TAKES_ES.search(form) else (f"{form}s",)


def _spelt_words() -> tuple[tuple[str, str], ...]:
    """Return every pair of a British word and the same word in American spelling."""
    return tuple(
        (british + ending, american + ending)
        for british, american, endings in _SPELLINGS
        for ending in ("", *filter(None, endings.split("|")))
        if ending or british not in _NEVER_BARE
    )


def _make_word_pattern(words: Iterable[str]) -> re.Pattern[str]:
    longest_first = sorted(words, key=len, reverse=True)
    return re.compile(rf"\b(?:{'|'.join(longest_first)})\b", re.IGNORECASE)


def _respell(form: str, words: re.Pattern[str], respelt: Mapping[str, str]) -> str:
    def put(match: re.Match[str]) -> str:
        word = match[0]
        other = respelt[word.lower()]
        return other.capitalize() if word[0].isupper() else other

    return words.sub(put, form)


_TO_AMERICAN = dict(_spelt_words())
_TO_BRITISH = {american: british for british, american in _TO_AMERICAN.items()}
_BRITISH_WORD = _make_word_pattern(_TO_AMERICAN)
_AMERICAN_WORD = _make_word_pattern(_TO_BRITISH)
