"""Words of different recognisers made comparable: the same speech gives the same pieces.

One recogniser writes "2031-007", another "twenty thirty one dash zero zero seven"; one writes
"Verso," and the other "verso". A piece is what both mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.domain.note import Word
from voicelog.extraction.numbers.cardinals import read_atom
from voicelog.extraction.numbers.words import (
    ORDINAL_ENDINGS,
    ORDINAL_TEENS,
    ORDINAL_TENS,
    ORDINAL_UNITS,
    SEPARATORS,
    TENS,
)
from voicelog.extraction.tokens import Token, tokenize
from voicelog.vocabulary.inflection import in_british

UNKNOWN_WORD = "[unk]"
"""What the closed ear writes for speech that is none of its words."""

_ORDINALS = ORDINAL_UNITS | ORDINAL_TEENS | ORDINAL_TENS
_DECADES = {f"{word[:-1]}ies": value for word, value in TENS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """The smallest part of a reading that can be compared with another reading.

    Attributes:
        key: what was said, the same however it was written: "2031007", "mould".
        spoken: the words as they are said, in lower case.
        first: index of its first word in the reading.
        end: index after its last word.
        is_number: whether it is a number, of any kind.
        start_s: where it begins, in seconds; None where the reading has no times.
        end_s: where it ends.
        confidence: mean confidence of its words, 0..1; None where there is none.
    """

    key: str
    spoken: tuple[str, ...]
    first: int
    end: int
    is_number: bool
    start_s: float | None
    end_s: float | None
    confidence: float | None

    @property
    def is_unknown(self) -> bool:
        """Whether the ear only knows that something was said."""
        return self.key == UNKNOWN_WORD


def cut_into_pieces(words: Sequence[Word]) -> tuple[Piece, ...]:
    """Return the pieces of a reading, in order; signs are no pieces.

    Numbers that follow each other are one piece with all their digits, however they were
    divided:

    >>> said = [Word(text=text) for text in "Leaf twenty-one, June 4th".split()]
    >>> [piece.key for piece in cut_into_pieces(said)]
    ['leaf', '21', 'june', '4']
    >>> said = [Word(text=text) for text in "twenty thirty one dash double oh seven".split()]
    >>> [piece.key for piece in cut_into_pieces(said)]
    ['2031007']
    """
    tokens, words_of = _tokenize(words)
    pieces: list[Piece] = []
    at = 0
    while at < len(tokens):
        number = _read_number(tokens, at)
        if number is not None:
            digits, end = number
            first, last = words_of[at], words_of[end - 1]
            pieces.append(_make(words, first, last + 1, digits, tokens[at:end], is_number=True))
            at = end
            continue
        if tokens[at].is_word or tokens[at].norm == UNKNOWN_WORD:
            key = in_british(tokens[at].norm)
            word = words_of[at]
            pieces.append(_make(words, word, word + 1, key, tokens[at : at + 1], is_number=False))
        at += 1
    return tuple(pieces)


def _tokenize(words: Sequence[Word]) -> tuple[list[Token], list[int]]:
    tokens: list[Token] = []
    words_of: list[int] = []
    for index, word in enumerate(words):
        if word.text == UNKNOWN_WORD:
            found: tuple[Token, ...] = (Token(UNKNOWN_WORD, UNKNOWN_WORD, 0, len(UNKNOWN_WORD)),)
        else:
            found = tokenize(word.text)
        tokens += found
        words_of += [index] * len(found)
    return tokens, words_of


def _read_number(tokens: Sequence[Token], start: int) -> tuple[str, int] | None:
    """Return the digits that begin here, all that follow each other, and where they end.

    Grammar::

        number := part (separator? part)*
        part   := number atom | ordinal | tens ordinal | decade
    """
    digits = ""
    end = at = start
    while at < len(tokens):
        part = _read_part(tokens, at)
        if part is not None:
            said, at = part
            digits += said
            end = at
        elif digits and (tokens[at].norm in SEPARATORS or tokens[at].norm == ","):
            at += 1
        else:
            break
    return (digits, end) if digits else None


def _read_part(tokens: Sequence[Token], at: int) -> tuple[str, int] | None:
    norm = tokens[at].norm
    following = tokens[at + 1].norm if at + 1 < len(tokens) else ""
    if norm in TENS and following in ORDINAL_UNITS:
        return str(TENS[norm] + ORDINAL_UNITS[following]), at + 2
    if norm in _ORDINALS:
        return str(_ORDINALS[norm]), at + 1
    if norm in _DECADES:
        return f"{_DECADES[norm]}s", at + 1
    if norm == "a" or not (tokens[at].is_word):
        return None
    atom = read_atom(tokens, at)
    if atom is None:
        return None
    after = tokens[atom.end].norm if atom.end < len(tokens) else ""
    if after in ORDINAL_ENDINGS and tokens[atom.end].glued:
        return atom.digits, atom.end + 1
    if after == "s" and tokens[atom.end].glued:
        return f"{atom.digits}s", atom.end + 1
    return atom.digits, atom.end


def _make(
    words: Sequence[Word],
    first: int,
    end: int,
    key: str,
    tokens: Sequence[Token],
    *,
    is_number: bool,
) -> Piece:
    sure = [word.confidence for word in words[first:end] if word.confidence is not None]
    return Piece(
        key=key,
        spoken=tuple(token.norm for token in tokens if token.is_word),
        first=first,
        end=end,
        is_number=is_number,
        start_s=words[first].start_s,
        end_s=words[end - 1].end_s,
        confidence=sum(sure) / len(sure) if sure else None,
    )
