"""Amounts: whole numbers, decimals, fractions and mixed numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from voicelog.extraction.numbers.cardinals import Atom, read_atom
from voicelog.extraction.numbers.words import DENOMINATORS, TENS, TWO_WORD_DENOMINATORS, UNITS
from voicelog.extraction.tokens import Token

_BARE_FRACTIONS = {"half": Fraction(1, 2), "quarter": Fraction(1, 4)}
SMALLEST_PART = 64
"""Rulers go down to 1/64 inch; a figure after "/" above that is no denominator."""


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact quantity and where its words end."""

    value: Fraction
    end: int


def read_amount(tokens: Sequence[Token], start: int) -> Amount | None:
    """Return the amount that begins at ``start``, or None.

    Grammar::

        amount   := whole ["and" | "-"] fraction | decimal | whole | fraction
        decimal  := [whole] ("." | "point") digit+
        fraction := ("a" | number) denominator | ("half" | "quarter") ["a" | "an"]
                  | numeral "/" numeral ["ths"] | "½" ...
    """
    if start >= len(tokens):
        return None
    fraction = _read_fraction(tokens, start)
    if fraction is not None:
        return fraction
    whole = _read_whole(tokens, start)
    if whole is None:
        return _read_decimals(tokens, start, "0")
    if _follows_bare_point(tokens, start):
        # ".5" read from its figure on; five would be ten times too much.
        return Amount(Fraction(f"0.{tokens[start].norm}"), start + 1)
    decimal = _read_decimals(tokens, whole.end, whole.digits)
    if decimal is not None:
        return decimal
    part = _read_joined_fraction(tokens, whole.end) or Amount(Fraction(0), whole.end)
    return Amount(whole.value + part.value, part.end)


def _read_joined_fraction(tokens: Sequence[Token], after: int) -> Amount | None:
    """Read the fraction of a mixed number: "and a quarter", "1/4", "-1/4", "five eighths"."""
    if after + 1 >= len(tokens) and (after >= len(tokens) or "/" not in tokens[after].norm):
        return None
    link = tokens[after].norm
    is_glued = link == "-" and tokens[after].glued and tokens[after + 1].glued
    joined = after + 1 if link == "and" or is_glued else after
    part = _read_fraction(tokens, joined)
    if part is None or part.value >= 1:
        return None
    # Without "and" only figures and digits join: "four ½", but not "four half".
    may_join = joined > after or tokens[joined].norm[0].isdecimal() or tokens[joined].norm in UNITS
    return part if may_join else None


def _read_whole(tokens: Sequence[Token], start: int) -> Atom | None:
    if tokens[start].norm == "a":
        return None
    atom = read_atom(tokens, start)
    if atom is None or len(atom.digits) > 6:
        return None
    if atom.scaled and _read_denominator(tokens, atom.end) is not None:
        # "one hundred and two thirds" is 100 2/3.
        joins = [at for at in range(start, atom.end) if tokens[at].norm == "and"]
        if joins and _read_joined_fraction(tokens, joins[-1]) is not None:
            return read_atom(tokens[: joins[-1]], start)
    if tokens[start].norm in TENS and _read_denominator(tokens, atom.end) is not None:
        # "twenty five eighths" is 20 5/8.
        return Atom(str(TENS[tokens[start].norm]), start + 1)
    if len(atom.digits) > 1 or atom.scaled or tokens[start].norm.isdecimal():
        return atom
    # "one oh five" is 105 said digit by digit, but "six five eighths" is 6 5/8.
    digits, end = atom.digits, atom.end
    while end < len(tokens) and len(digits) < 4:
        following = read_atom(tokens, end) if tokens[end].norm in UNITS else None
        if following is None or len(following.digits) != 1:
            break
        if _read_fraction(tokens, end) is not None:
            break
        digits, end = digits + following.digits, following.end
    return Atom(digits, end)


def _read_decimals(tokens: Sequence[Token], index: int, whole: str) -> Amount | None:
    """Read "point two five" and ".25" behind a whole number, or alone."""
    if index + 1 >= len(tokens):
        return None
    sign = tokens[index]
    is_glued = sign.norm == "." and tokens[index + 1].glued
    # Recognisers also write "3 .5"; the .5 is then no number of its own.
    follows_figure = index > 0 and tokens[index - 1].norm.isdecimal()
    belongs = follows_figure if whole != "0" else not follows_figure or sign.glued
    if not (sign.norm == "point" or (is_glued and belongs)):
        return None
    digits = ""
    index += 1
    while index < len(tokens):
        word = tokens[index].norm
        if word.isascii() and word.isdecimal():
            digits += word
        elif word in UNITS and _read_fraction(tokens, index) is None:
            digits += str(UNITS[word])
        else:
            break
        index += 1
    if not digits or len(digits) > 9:
        return None
    return Amount(Fraction(f"{whole}.{digits}"), index)


def _follows_bare_point(tokens: Sequence[Token], start: int) -> bool:
    return (
        start > 0
        and tokens[start].glued
        and tokens[start].norm.isdecimal()
        and tokens[start - 1].norm == "."
        and not tokens[start - 1].glued
    )


def _read_fraction(tokens: Sequence[Token], start: int) -> Amount | None:
    word = tokens[start].norm
    if "/" in word and len(word) == 3:
        return Amount(Fraction(word), start + 1)
    if word in _BARE_FRACTIONS:
        has_article = _norm(tokens, start + 1) in {"a", "an"}
        return Amount(_BARE_FRACTIONS[word], start + 1 + has_article)
    if _norm(tokens, start + 1) == "/":
        return _read_fraction_in_figures(tokens, start)
    if word in {"a", "an"}:
        above, end = 1, start + 1
    else:
        # "eleven sixteenths", "15 sixteenths"
        atom = read_atom(tokens, start)
        if atom is None or atom.scaled:
            return None
        above, end = atom.value, atom.end
    below = _read_denominator(tokens, end)
    if below is None or not 0 < above < below[0]:
        return None
    return Amount(Fraction(above, below[0]), below[1])


def _read_fraction_in_figures(tokens: Sequence[Token], start: int) -> Amount | None:
    above, below = tokens[start].norm, _norm(tokens, start + 2)
    if not all(part.isascii() and part.isdecimal() and len(part) <= 2 for part in (above, below)):
        return None
    if not 0 < int(below) <= SMALLEST_PART:
        return None
    ending = tokens[start + 3] if start + 3 < len(tokens) else None
    has_ending = ending is not None and ending.glued and ending.norm in {"th", "ths", "nds"}
    return Amount(Fraction(int(above), int(below)), start + 3 + has_ending)


def _read_denominator(tokens: Sequence[Token], index: int) -> tuple[int, int] | None:
    two = (_norm(tokens, index), _norm(tokens, index + 1))
    if two in TWO_WORD_DENOMINATORS:
        return TWO_WORD_DENOMINATORS[two], index + 2
    if two[0] in DENOMINATORS:
        return DENOMINATORS[two[0]], index + 1
    return None


def _norm(tokens: Sequence[Token], index: int) -> str:
    return tokens[index].norm if index < len(tokens) else ""
