"""Runs of number words: read once as atoms, then combined as the place demands.

"twenty thirty one" is the year 2031, the digits 2031 or the numbers 20 and 31; which
one, only what stands around it can tell. So a run is read into *atoms* first
(20 and 31), and each consumer combines atoms by its own rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.extraction.numbers.words import REPEATS, SCALES, TEENS, TENS, UNITS
from voicelog.extraction.tokens import Token


@dataclass(frozen=True, slots=True)
class Atom:
    """The smallest part of a number run that was said as one number.

    Attributes:
        digits: the digits as they would be written, leading zeros kept ("00" for double oh).
        end: index after its last token.
        scaled: whether hundred or thousand was said in it.
    """

    digits: str
    end: int
    scaled: bool = False

    @property
    def value(self) -> int:
        """The atom as a number."""
        return int(self.digits)


def read_atom(tokens: Sequence[Token], start: int) -> Atom | None:
    """Return the number atom that begins at ``start``, or None.

    Grammar::

        atom    := numeral | repeat digit | hundreds
        hundreds:= ["a" | small] "hundred" [["and"] small] | small ["thousand" [["and"] hundreds]]
        small   := unit | teen | tens [unit 1-9]
    """
    token = tokens[start]
    if token.norm.isascii() and token.norm.isdecimal():
        return _read_numeral(tokens, start)
    if token.norm in REPEATS and start + 1 < len(tokens):
        digit = _digit_of(tokens[start + 1].norm)
        if digit is not None:
            return Atom(digit * REPEATS[token.norm], start + 2)
        return None
    small = _read_small(tokens, start)
    if small is None:
        if token.norm in {"a", "hundred"}:
            return _read_article_scale(tokens, start)
        return None
    return _read_scales(tokens, small)


def read_atoms(tokens: Sequence[Token], start: int, *, limit: int = 12) -> tuple[Atom, ...]:
    """Return the atoms that follow each other from ``start`` without a break."""
    atoms: list[Atom] = []
    index = start
    while index < len(tokens) and len(atoms) < limit:
        if tokens[index].norm == "a":
            break
        atom = read_atom(tokens, index)
        if atom is None:
            break
        atoms.append(atom)
        index = atom.end
    return tuple(atoms)


def read_whole_number(tokens: Sequence[Token], start: int) -> Atom | None:
    """Return a counting number that begins at ``start``: digits said one by one are joined.

    "one four" is 14, "one oh four" 104, "two twenty seven" 227; "four twenty" is 420.
    """
    atoms = read_atoms(tokens, start)
    if not atoms:
        return None
    first = atoms[0]
    if first.scaled or len(first.digits) > 1 or len(atoms) == 1:
        return first
    single = [first]
    for atom in atoms[1:]:
        if len(atom.digits) > 1 or atom.scaled:
            break
        single.append(atom)
    if len(single) == 2 and tokens[start].norm.isdecimal() and tokens[first.end].norm.isdecimal():
        return first  # Who writes numerals writes 14, not "1 4".
    if len(single) > 1:
        return Atom("".join(atom.digits for atom in single), single[-1].end)
    second = atoms[1]
    if len(second.digits) == 2 and not second.scaled and _same_writing(tokens, first, start):
        return Atom(first.digits + second.digits, second.end)
    return first


def read_year(tokens: Sequence[Token], start: int) -> Atom | None:
    """Return a four-digit year that begins at ``start``, or None.

    Grammar::

        year := 4-digit numeral | century tens | century ("oh" | "zero") unit
              | century "hundred" | number from 1000 to 2999 said with "thousand"
        century := 14 ... 20
    """
    atoms = read_atoms(tokens, start, limit=4)
    if not atoms:
        return None
    first = atoms[0]
    if len(first.digits) == 4 and 1000 <= first.value <= 2999:
        return first
    if first.scaled or not 14 <= first.value <= 20 or len(atoms) < 2:
        return None
    second = atoms[1]
    if len(second.digits) == 2 and not second.scaled:
        return Atom(first.digits + second.digits, second.end)
    if second.digits == "0" and len(atoms) > 2 and len(atoms[2].digits) == 1:
        return Atom(first.digits + "0" + atoms[2].digits, atoms[2].end)
    return None


def _read_numeral(tokens: Sequence[Token], start: int) -> Atom:
    digits = tokens[start].norm
    end = start + 1
    if end < len(tokens) and tokens[end].norm in SCALES and len(digits) <= 2:
        scaled = _read_scales(tokens, Atom(digits, end))
        if scaled.scaled:
            return scaled
    return Atom(digits, end)


def _read_small(tokens: Sequence[Token], start: int) -> Atom | None:
    word = tokens[start].norm
    if word in UNITS:
        return Atom(str(UNITS[word]), start + 1)
    if word in TEENS:
        return Atom(str(TEENS[word]), start + 1)
    if word in TENS:
        following = tokens[start + 1].norm if start + 1 < len(tokens) else ""
        unit = UNITS.get(following, 0)
        if unit:
            return Atom(str(TENS[word] + unit), start + 2)
        return Atom(str(TENS[word]), start + 1)
    return None


def _read_article_scale(tokens: Sequence[Token], start: int) -> Atom | None:
    if tokens[start].norm == "hundred":
        return None
    if start + 1 < len(tokens) and tokens[start + 1].norm in SCALES:
        scaled = _read_scales(tokens, Atom("1", start + 1))
        return scaled if scaled.scaled else None
    return None


def _read_scales(tokens: Sequence[Token], small: Atom) -> Atom:
    total, end = small.value, small.end
    if total == 0 or end >= len(tokens) or tokens[end].norm not in SCALES:
        return small
    if tokens[end].norm == "hundred":
        total, end = _add_remainder(tokens, total * 100, end + 1, below=100)
    if end < len(tokens) and tokens[end].norm == "thousand":
        total, end = _add_thousands_remainder(tokens, total * 1000, end + 1)
    return Atom(str(total), end, scaled=True)


def _add_thousands_remainder(tokens: Sequence[Token], total: int, end: int) -> tuple[int, int]:
    # "one thousand, two hundred" is written with a comma; "a thousand, two" is a list.
    has_comma = end < len(tokens) and tokens[end].norm == ","
    start = _skip_and(tokens, end + has_comma)
    small = _read_small(tokens, start) if start < len(tokens) else None
    if small is None:
        return total, end
    if has_comma and not (small.end < len(tokens) and tokens[small.end].norm == "hundred"):
        return total, end
    after = small.end
    if after < len(tokens) and tokens[after].norm == "hundred" and 0 < small.value < 10:
        return _add_remainder(tokens, total + small.value * 100, after + 1, below=100)
    return (total + small.value, small.end) if small.value else (total, end)


def _add_remainder(tokens: Sequence[Token], total: int, end: int, *, below: int) -> tuple[int, int]:
    start = _skip_and(tokens, end)
    if start >= len(tokens):
        return total, end
    small = _read_small(tokens, start)
    if small is None or not 0 < small.value < below:
        return total, end
    if small.end < len(tokens) and tokens[small.end].norm == "hundred":
        return total, end
    return total + small.value, small.end


def _skip_and(tokens: Sequence[Token], index: int) -> int:
    return index + 1 if index < len(tokens) and tokens[index].norm == "and" else index


def _digit_of(word: str) -> str | None:
    if word in UNITS:
        return str(UNITS[word])
    if word in {"o", "0"} or (word.isdecimal() and len(word) == 1):
        return "0" if word == "o" else word
    return None


def _same_writing(tokens: Sequence[Token], first: Atom, start: int) -> bool:
    return tokens[start].norm.isdecimal() == tokens[first.end].norm.isdecimal()
