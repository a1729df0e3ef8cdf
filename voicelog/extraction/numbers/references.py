"""Accession numbers: letters, digits and separators in whatever form they are said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.extraction.numbers.cardinals import read_atom
from voicelog.extraction.numbers.words import RADIO_ALPHABET, SEPARATORS
from voicelog.extraction.tokens import Token


@dataclass(frozen=True, slots=True)
class Reference:
    """An accession number as written, and where its words end.

    Attributes:
        text: digits and letters in the order said, with the separators.
        end: index after the last token.
        parts: how many groups the separators make.
    """

    text: str
    end: int
    parts: int


def read_reference(tokens: Sequence[Token], start: int) -> Reference | None:
    """Return the accession number that begins at ``start``, or None.

    Grammar::

        reference := part (","? separator ","? part)*
        part      := (letter | letters | radio word | number atom)+
        letters   := capitals | consonants only, before a number ("ms 45")

    Digits are kept as said ("double oh seven" is 007), numbers are set side by side
    ("twenty thirty one" is 2031).
    """
    text = ""
    index = end = start
    parts = 1
    has_digit = False
    while index < len(tokens):
        piece = _read_piece(tokens, index, text)
        if piece is not None:
            said, index = piece
            text += said
            has_digit = has_digit or said[-1].isdecimal()
            end = index
            continue
        separator = _read_separator(tokens, index) if text else None
        if separator is None:
            break
        sign, after = separator
        if after >= len(tokens) or _read_piece(tokens, after, text + sign) is None:
            break
        text += sign
        parts += 1
        index = after
    return Reference(text, end, parts) if has_digit else None


def _read_piece(tokens: Sequence[Token], index: int, before: str) -> tuple[str, int] | None:
    """Read one letter, word of capitals, radio word or number after the text ``before``."""
    token = tokens[index]
    atom = read_atom(tokens, index) if token.norm != "a" else None
    if atom is not None:
        return atom.digits, atom.end
    if token.norm in RADIO_ALPHABET:
        return RADIO_ALPHABET[token.norm], index + 1
    if token.norm == "x" and index + 1 < len(tokens) and tokens[index + 1].norm == "ray":
        return "X", index + 2
    # "oh" written as a letter: a zero, except after or at the head of other letters.
    if token.norm == "o" and before and not before[-1].isalpha():
        return "0", index + 1
    if len(token.norm) == 1 and token.norm.isalpha():
        is_article = token.norm in {"a", "i"} and not _continues(tokens, index + 1)
        return None if is_article else (token.norm.upper(), index + 1)
    return (token.text.upper(), index + 1) if _is_prefix(tokens, index, before) else None


def _is_prefix(tokens: Sequence[Token], index: int, before: str) -> bool:
    """Whether a word stands for its letters: "MS", or "ms" right before a number."""
    token = tokens[index]
    if not token.norm.isalpha() or len(token.norm) > 6 or (before and not token.glued):
        return False
    if token.text.isupper():
        return True
    has_vowel = bool(set(token.norm) & set("aeiouy"))
    return not before and not has_vowel and len(token.norm) <= 4 and _continues(tokens, index + 1)


def _continues(tokens: Sequence[Token], index: int) -> bool:
    if index >= len(tokens):
        return True
    token = tokens[index]
    return (
        token.norm in SEPARATORS
        or token.norm in RADIO_ALPHABET
        or (len(token.norm) == 1 and token.norm.isalpha())
        or (token.norm != "a" and read_atom(tokens, index) is not None)
    )


def _read_separator(tokens: Sequence[Token], index: int) -> tuple[str, int] | None:
    if tokens[index].norm == ",":
        index += 1
    if index >= len(tokens) or tokens[index].norm not in SEPARATORS:
        return None
    sign = SEPARATORS[tokens[index].norm]
    is_full_stop = tokens[index].norm in {".", ":"} and not (
        index + 1 < len(tokens) and tokens[index].glued and tokens[index + 1].glued
    )
    if is_full_stop:
        return None
    index += 1
    if index < len(tokens) and tokens[index].norm == ",":
        index += 1
    return sign, index
