"""Text from a log on a page: nothing in it may hide or turn around what stands beside it.

Markup is escaped by the templates. What is left are control characters, which a browser
draws as nothing, and the characters that steer the direction of text (Unicode Standard
Annex 9, table 4), with which a caption could reorder the row that it stands in.
"""

from __future__ import annotations

import unicodedata

_KEPT = frozenset("\u200c\u200d")  # joiners, which Persian and Hindi words need


def make_visible(text: str) -> str:
    r"""Return the text with every character that would not be seen shown as a sign.

    >>> make_visible("red\x1b[31m, \u202eevil")
    'red␛[31m, ⟨202E⟩evil'
    """
    return "".join(_make_visible(character) for character in text)


def _make_visible(character: str) -> str:
    code = ord(character)
    if code < 0x20:
        return " " if character in "\t\n\r" else chr(0x2400 + code)
    if code == 0x7F:
        return "␡"
    if character not in _KEPT and unicodedata.category(character) in {"Cc", "Cf", "Cs"}:
        return f"⟨{code:04X}⟩"
    return character
