"""One date with what qualifies it: "about June 1952", "possibly 1984", "the early fifties".

Grammar::

    point := (approximate | uncertain | "early" | "late")* plain ["?" | "possibly" | "or so"]

Plain dates are in :mod:`voicelog.extraction.dates.plain_dates`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.extraction.dates.calendar_words import APPROXIMATE, OR_SO, PARTS_OF_PERIOD, UNCERTAIN
from voicelog.extraction.dates.edtf import PlainDate, format_qualifier
from voicelog.extraction.dates.plain_dates import read_plain_date, word_at
from voicelog.extraction.numbers.cardinals import read_year
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.tokens import Token

_SKIPPABLE = frozenset({"the", "in", "of", "a", "year", "on", "sometime", "some", "time"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A date with its qualifiers, and where its words end.

    Attributes:
        date: the date.
        end: index after its last token.
        qualifier: EDTF's mark, "~", "?", "%" or "".
        doubts: reasons in plain words.
        aside: spans (first, end) of qualifying words that EDTF has no mark for.
        bare_year: whether nothing but a year was said, which may be some other number.
    """

    date: PlainDate
    end: int
    qualifier: str = ""
    doubts: tuple[str, ...] = ()
    aside: tuple[tuple[int, int], ...] = ()
    bare_year: bool = False

    @property
    def is_exact(self) -> bool:
        """Whether the date is all in figures and not qualified."""
        return self.date.is_exact and not self.qualifier

    def format(self) -> str:
        """Return the date with its qualifier in EDTF."""
        return self.date.format() + self.qualifier


def read_point(tokens: Sequence[Token], start: int, options: ReadingOptions) -> Point | None:
    """Return the point that begins at ``start``, or None."""
    approximate: list[tuple[int, int]] = []
    uncertain: list[tuple[int, int]] = []
    aside: list[tuple[int, int]] = []
    index = start
    while index < len(tokens):
        word = tokens[index].norm
        if word in APPROXIMATE or (word in {"c", "ca"} and _precedes_year(tokens, index)):
            approximate.append((index, index + 1))
            index += word_at(tokens, index + 1) == "."
        elif word in UNCERTAIN:
            uncertain.append((index, index + 1))
        elif word in PARTS_OF_PERIOD:
            aside.append((index, index + 1))
            index += word_at(tokens, index + 1) == "-"
        elif word not in _SKIPPABLE and not (word == "," and (approximate or uncertain)):
            break
        index += 1
    plain = read_plain_date(tokens, index, options) if index < len(tokens) else None
    if plain is None:
        return None
    end, is_approximate, is_uncertain = _read_qualifiers_after(tokens, plain.end)
    doubts = plain.doubts
    if not plain.date.is_possible():
        said = " ".join(token.text for token in tokens[index : plain.end])
        doubts = (*doubts, f"there is no such date as {said!r}")
    if "X" in plain.date.format():
        # EDTF qualifies no masked date. A decade is approximate by itself ("about the
        # fifties" is 195X); the other words are kept in the remark.
        aside += uncertain if plain.date.is_masked else approximate + uncertain
        if is_uncertain:
            aside.append((plain.end, end))
        approximate, uncertain = [], []
        is_approximate = is_uncertain = False
    return Point(
        date=plain.date,
        end=end,
        qualifier=format_qualifier(
            approximate=bool(approximate) or is_approximate,
            uncertain=bool(uncertain) or is_uncertain,
        ),
        doubts=doubts,
        aside=tuple(sorted(aside)),
        bare_year=plain.bare_year and not (approximate or uncertain or aside or end > plain.end),
    )


def _read_qualifiers_after(tokens: Sequence[Token], end: int) -> tuple[int, bool, bool]:
    """Read "?", "possibly" at the end of a phrase, and "or so": (end, about, perhaps)."""
    after = match_any(tokens, end, OR_SO)
    if after:
        return after, True, False
    word = word_at(tokens, end)
    if word == "?":
        return end + 1, False, True
    is_last = end + 1 >= len(tokens) or not tokens[end + 1].is_word
    if word in UNCERTAIN and is_last:
        return end + 1, False, True
    return end, False, False


def _precedes_year(tokens: Sequence[Token], index: int) -> bool:
    after = index + 2 if word_at(tokens, index + 1) == "." else index + 1
    return after < len(tokens) and read_year(tokens, after) is not None


def match_any(tokens: Sequence[Token], start: int, wordings: tuple[tuple[str, ...], ...]) -> int:
    """Return the index after the first wording that stands at ``start``, or 0."""
    first = word_at(tokens, start)
    for words in wordings:
        end = start + len(words)
        if words[0] == first and tuple(token.norm for token in tokens[start:end]) == words:
            return end
    return 0
