"""Cutting a note's text into tokens that keep their place in it."""

from __future__ import annotations

import re
from dataclasses import dataclass

# Digits and letters are kept apart ("7A", "4x6", "14th", "1950s" are two tokens each, glued),
# so that the grammars meet the same tokens whichever way a recogniser writes.
_TOKEN = re.compile(
    r"""
    \d{1,3}(?:,\d{3})+(?!\d)      # 1,948
    | \d+
    | (?:'s|’s)(?![^\W\d_])       # the rest of it's
    | [^\W\d_]+(?:['’](?!s(?![^\W\d_]))[^\W\d_]+)*   # words, won't kept whole
    | \S
    """,
    re.VERBOSE,
)
_FRACTION_SIGNS = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_DASHES = "-‐‑–—−"


@dataclass(frozen=True, slots=True)
class Token:
    """One word, number or sign of a note.

    Attributes:
        norm: lower-case form that grammars look at; repairs change it, never the text.
        text: the token as it stands in the note.
        first: index of its first character in the note's text.
        last: index after its last character.
        glued: whether it follows the token before it without a space.
        repaired: whether ``norm`` was put in place of what was heard.
        guessed: whether it was put there for its sound alone, which raises a doubt.
    """

    norm: str
    text: str
    first: int
    last: int
    glued: bool = False
    repaired: bool = False
    guessed: bool = False

    @property
    def is_word(self) -> bool:
        """Whether it is made of letters or digits, not punctuation."""
        return self.norm[0].isalnum() or self.norm == "'s"


def tokenize(text: str) -> tuple[Token, ...]:
    """Return the tokens of a text, in order.

    A hyphen inside a word is dropped ("twenty-one", "self-adhesive" are two words each);
    between digits, or a letter and a digit, it stays, since accession numbers need it.

    >>> [token.norm for token in tokenize("Leaf 7A, self-adhesive; 2031-007")]
    ['leaf', '7', 'a', ',', 'self', 'adhesive', ';', '2031', '-', '007']
    """
    tokens: list[Token] = []
    for found in _TOKEN.finditer(text):
        raw = found.group()
        first, last = found.span()
        if raw in _DASHES and _joins_letters(text, first):
            continue
        norm = _FRACTION_SIGNS.get(raw) or raw.lower().replace("’", "'")
        if raw in _DASHES:
            norm = "-"
        elif raw == "&":
            norm = "and"
        elif raw in "×✕":
            norm = "x"
        elif "\ud800" <= raw <= "\udfff":
            norm = "\ufffd"  # Half a character, as broken files have; no library takes it.
        elif raw[0].isdecimal() and "," in raw:
            norm = raw.replace(",", "")
        glued = first > 0 and not text[first - 1].isspace()
        tokens.append(Token(norm, raw, first, last, glued))
    return tuple(tokens)


def _joins_letters(text: str, index: int) -> bool:
    """Whether a dash stands inside a word; recognisers also write "self -adhesive"."""
    before = text[:index].rstrip()[-1:]
    after = text[index + 1 : index + 2]
    return before.isalpha() and after.isalpha()
