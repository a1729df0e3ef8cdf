"""Amounts: whole numbers, decimals, fractions and mixed numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from voicelog.extraction.numbers.cardinals import Atom, read_atom
from voicelog.extraction.numbers.words import DENOMINATORS, UNITS
from voicelog.extraction.tokens import Token


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact quantity and where its words end."""

    value: Fraction
    end: int


def read_amount(tokens: Sequence[Token], start: int) -> Amount | None:
    """Return the amount that begins at ``start``, or None.

    Grammar::

        amount   := whole ["and"] fraction | decimal | whole | fraction
        decimal  := whole ("." | "point") digit+
        fraction := ("a" | number) denominator | "half" ["a" | "an"] | numeral "/" numeral | "½" ...
    """
    if start >= len(tokens):
        return None
    fraction = _read_fraction(tokens, start)
    if fraction is not None:
        return fraction
    whole = _read_whole(tokens, start)
    if whole is None:
        return None
    decimal = _read_decimals(tokens, whole)
    if decimal is not None:
        return decimal
    after = whole.end
    if after < len(tokens):
        joined = after + 1 if tokens[after].norm == "and" else after
        part = _read_fraction(tokens, joined) if joined < len(tokens) else None
        if part is not None and part.value < 1 and _may_join(tokens, after, joined):
            return Amount(whole.value + part.value, part.end)
    return Amount(Fraction(whole.value), whole.end)


def _may_join(tokens: Sequence[Token], after: int, joined: int) -> bool:
    """Whether a fraction may follow a whole number without "and": "4 1/2", "four ½"."""
    return joined > after or tokens[joined].norm[0].isdigit() or tokens[joined].norm in UNITS


def _read_whole(tokens: Sequence[Token], start: int) -> Atom | None:
    if tokens[start].norm == "a":
        return None
    atom = read_atom(tokens, start)
    if atom is None or len(atom.digits) > 6:
        return None
    if len(atom.digits) == 1 and not atom.scaled and atom.end < len(tokens):
        second = read_atom(tokens, atom.end) if tokens[atom.end].norm != "a" else None
        is_word_run = not tokens[start].norm.isdigit()
        if second and is_word_run and len(second.digits) == 1 and second.end - atom.end == 1:
            # "one two" inches is twelve said digit by digit, unless a fraction follows.
            if second.end < len(tokens) and tokens[second.end].norm in DENOMINATORS:
                return atom
            return Atom(atom.digits + second.digits, second.end)
    return atom


def _read_decimals(tokens: Sequence[Token], whole: Atom) -> Amount | None:
    index = whole.end
    if index + 1 >= len(tokens):
        return None
    sign = tokens[index]
    is_point = sign.norm == "point" or (sign.norm == "." and sign.glued and tokens[index + 1].glued)
    if not is_point:
        return None
    digits = ""
    index += 1
    while index < len(tokens):
        word = tokens[index].norm
        if word.isascii() and word.isdigit():
            digits += word
        elif word in UNITS:
            digits += str(UNITS[word])
        else:
            break
        index += 1
    if not digits or len(digits) > 9:
        return None
    return Amount(Fraction(f"{whole.digits}.{digits}"), index)


def _read_fraction(tokens: Sequence[Token], start: int) -> Amount | None:
    word = tokens[start].norm
    if "/" in word and len(word) == 3:
        return Amount(Fraction(word), start + 1)
    if word == "half":
        end = start + 1
        if end < len(tokens) and tokens[end].norm in {"a", "an"}:
            end += 1
        return Amount(Fraction(1, 2), end)
    following = tokens[start + 1].norm if start + 1 < len(tokens) else ""
    if word.isascii() and word.isdigit() and following == "/" and start + 2 < len(tokens):
        below = tokens[start + 2].norm
        if below.isascii() and below.isdigit() and 0 < int(below[:9]) <= 64 and len(word) <= 2:
            return Amount(Fraction(int(word), int(below)), start + 3)
        return None
    if word in {"a", "an", "one"} and following in DENOMINATORS:
        return Amount(Fraction(1, DENOMINATORS[following]), start + 2)
    if following in DENOMINATORS:
        above = UNITS.get(word) or (int(word) if word.isascii() and word.isdigit() else 0)
        if 0 < above < DENOMINATORS[following]:
            return Amount(Fraction(above, DENOMINATORS[following]), start + 2)
    if start + 1 < len(tokens):
        # "eleven sixteenths", "15 sixteenths"
        atom = read_atom(tokens, start) if word != "a" else None
        if atom and not atom.scaled and atom.end < len(tokens):
            below_word = tokens[atom.end].norm
            if below_word in DENOMINATORS and 0 < atom.value < DENOMINATORS[below_word]:
                return Amount(Fraction(atom.value, DENOMINATORS[below_word]), atom.end + 1)
    return None
