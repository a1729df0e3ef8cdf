"""Text into the room there is: broken at spaces, shortened by rule, never through a letter.

The rule: as many whole words as go on the lines there are; where that isn't all, the last
line ends in an ellipsis. A word longer than a line is broken between letters; a letter with
its accents and vowel signs is never parted. What was shortened stands in full in the list.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from voicelog.housing.paper.typeface import ELLIPSIS, Typeface

_JOINER = "\N{ZERO WIDTH JOINER}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A text that was put on lines.

    Attributes:
        lines: the lines.
        is_short: whether not all of the text found room.
        leftwards: whether it runs from right to left.
    """

    lines: tuple[str, ...]
    is_short: bool
    leftwards: bool = False

    def single_lines(self) -> Iterator[Fitted]:
        """Yield every line by itself, for a text that goes on over several pages."""
        for line in self.lines:
            yield Fitted(lines=(line,), is_short=False, leftwards=self.leftwards)


def cut_into_letters(text: str) -> list[str]:
    """Return the text letter by letter, each with all that belongs to it.

    >>> cut_into_letters("e\u0301a") == ["e\u0301", "a"]
    True
    """
    letters: list[str] = []
    for character in text:
        joined = letters and (
            unicodedata.category(character).startswith("M")
            or character == _JOINER
            or letters[-1].endswith(_JOINER)
        )
        if joined:
            letters[-1] += character
        else:
            letters.append(character)
    return letters


def fit_text(
    text: str, typeface: Typeface, *, size: float, width: float, most_lines: int
) -> Fitted:
    """Return a text on at most so many lines of a width, both in points."""
    clean = typeface.clean(text)
    lines = _break_lines(clean, typeface, size=size, width=width)
    is_short = len(lines) > most_lines
    if is_short:
        lines = lines[: max(0, most_lines)]
        lines[-1:] = [_shorten(line, typeface, size=size, width=width) for line in lines[-1:]]
    return Fitted(lines=tuple(lines), is_short=is_short, leftwards=typeface.runs_leftwards(clean))


def _break_lines(text: str, typeface: Typeface, *, size: float, width: float) -> list[str]:
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if typeface.width(longer, size) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *whole, line = _break_word(word, typeface, size=size, width=width)
        lines += whole
    return [*lines, line] if line else lines


def _break_word(word: str, typeface: Typeface, *, size: float, width: float) -> list[str]:
    pieces: list[str] = []
    piece = ""
    for letter in cut_into_letters(word):
        if piece and typeface.width(piece + letter, size) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def _shorten(line: str, typeface: Typeface, *, size: float, width: float) -> str:
    """Return the line with an ellipsis at its end, whole words dropped first."""
    words = line.split()
    while len(words) > 1 and typeface.width(f"{' '.join(words)}{ELLIPSIS}", size) > width:
        words.pop()
    letters = cut_into_letters(" ".join(words))
    while len(letters) > 1 and typeface.width(f"{''.join(letters)}{ELLIPSIS}", size) > width:
        letters.pop()
    return f"{''.join(letters)}{ELLIPSIS}"
