"""Brings spoken strings of letters and numbers to one spelling, so that they can be compared.

"A M S J SEVEN THOUSAND ONE HUNDRED AND EIGHTY SIX" and "A, M, S, J, 7186." are the same
string. The letter O and a spoken "oh" sound alike and are written 0; nothing else is
forgiven. This is no part of voicelog: what it reads must not decide how it is judged.
"""

from __future__ import annotations

import re
from pathlib import Path

_BELOW_TWENTY = (
    *("ZERO", "ONE", "TWO", "THREE", "FOUR", "FIVE", "SIX", "SEVEN", "EIGHT", "NINE"),
    *("TEN", "ELEVEN", "TWELVE", "THIRTEEN", "FOURTEEN", "FIFTEEN", "SIXTEEN"),
    *("SEVENTEEN", "EIGHTEEN", "NINETEEN"),
)
_TENS = ("TWENTY", "THIRTY", "FORTY", "FIFTY", "SIXTY", "SEVENTY", "EIGHTY", "NINETY")
_VALUES = {word: value for value, word in enumerate(_BELOW_TWENTY)}
_VALUES |= {word: 20 + 10 * index for index, word in enumerate(_TENS)} | {"OH": 0}
_SCALES = {"HUNDRED": 100, "THOUSAND": 1000}


def read_clips(folder: Path) -> list[tuple[Path, str]]:
    """Return AN4's clips that hold only letters and number words, with what was said.

    Args:
        folder: holds ``transcription.txt`` in the database's own form, and ``flac/``.
    """
    allowed = {*_VALUES, *_SCALES, "AND"}
    clips = []
    for line in (folder / "transcription.txt").read_text(encoding="utf-8").splitlines():
        found = re.fullmatch(r"<s> (.*) </s> \((an\d+-\S+)\)", line.strip())
        if found and all(word in allowed or len(word) == 1 for word in found[1].split()):
            clips.append((folder / "flac" / f"{found[2]}.flac", found[1]))
    return clips


def write_alike(text: str) -> str:
    """Return the letters and digits that the text stands for, without spaces.

    >>> write_alike("A M S J SEVEN THOUSAND ONE HUNDRED AND EIGHTY SIX")
    'AMSJ7186'
    >>> write_alike("V, a, D r: 31 oh seven."), write_alike("K W FIFTY TWO FIFTY THREE")
    ('VADR3107', 'KW5253')
    """
    joined = re.sub(r"(?<=\d),(?=\d{3}\b)", "", text.upper())
    tokens = re.findall(r"\d+|[A-Z]+", joined)
    written = ""
    at = 0
    while at < len(tokens):
        if tokens[at] in _VALUES:
            value, at = _read_number(tokens, at)
            written += str(value)
        else:
            written += tokens[at]
            at += 1
    return written.replace("O", "0")


def read_number(tokens: list[str], at: int) -> tuple[int, int] | None:
    """Return the number that begins at a word in capitals and where it ends, or None."""
    return _read_number(tokens, at) if tokens[at] in _VALUES else None


def _read_number(tokens: list[str], at: int) -> tuple[int, int]:
    """Read the longest number: below 100, then "hundred" and "thousand" with what follows."""
    value, at = _read_below_100(tokens, at)
    for scale in ("THOUSAND", "HUNDRED"):
        if at < len(tokens) and tokens[at] == scale:
            value *= _SCALES[scale]
            at += 1
            after_and = at + (at < len(tokens) and tokens[at] == "AND")
            if after_and < len(tokens) and tokens[after_and] in _VALUES:
                rest, after = _read_number(tokens, after_and)
                if rest < _SCALES[scale]:
                    return value + rest, after
    return value, at


def _read_below_100(tokens: list[str], at: int) -> tuple[int, int]:
    value = _VALUES[tokens[at]]
    follows = _VALUES.get(tokens[at + 1], 0) if at + 1 < len(tokens) else 0
    if value >= 20 and 1 <= follows <= 9:
        return value + follows, at + 2
    return value, at + 1
