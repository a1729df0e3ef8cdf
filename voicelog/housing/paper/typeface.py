"""Letters on paper: which font has them, how wide they are, and which way they run.

Latin, Greek, Cyrillic and Hebrew come from Arimo, Arabic from Noto Sans Arabic (both SIL
Open Font License), embedded in the page. Arabic letters are joined and right-to-left text
is put into the order of the paper (Unicode Standard Annex 9) by libraries. A character that
no font has, or that can't be set without shaping we don't do (Indic scripts, emoji), is
printed as the replacement character, so that it is seen to be missing.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import cached_property
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any

import arabic_reshaper
from bidi import get_base_level, get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
ELLIPSIS = "…"
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})
# Scripts whose letters change place or form by rules that only a shaping engine knows.
_NEED_SHAPING = (
    *("DEVANAGARI", "BENGALI", "GURMUKHI", "GUJARATI", "ORIYA", "TAMIL", "TELUGU", "KANNADA"),
    *("MALAYALAM", "SINHALA", "THAI", "LAO", "TIBETAN", "MYANMAR", "KHMER", "VEDIC"),
)
_UNPRINTED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
_BOLD_STROKE = 0.035  # of the letter size: what a second, drawn outline adds


class Typeface:
    """The fonts that a page is set in, tried in order for every character."""

    def __init__(self) -> None:
        self._fonts: list[tuple[str, frozenset[int]]] = []
        for name, file in _font_files():
            font = TTFont(name, str(file))
            pdfmetrics.registerFont(font)
            self._fonts.append((name, frozenset(font.face.charToGlyph)))

    @cached_property
    def _reshaper(self) -> Any:
        # Vowel signs are part of what somebody wrote; the library would drop them.
        return arabic_reshaper.ArabicReshaper(
            configuration={"delete_harakat": False, "support_ligatures": True}
        )

    def clean(self, text: str) -> str:
        """Return the text as it can be printed: one line, composed, nothing that isn't seen."""
        kept = []
        for character in unicodedata.normalize("NFC", text):
            if character.isspace():
                kept.append(" ")
            elif unicodedata.category(character) in _UNPRINTED:
                continue
            else:
                kept.append(character if self._can_set(character) else REPLACEMENT)
        return " ".join("".join(kept).split())

    def has_all(self, text: str) -> bool:
        """Whether every character of a text can be printed."""
        return REPLACEMENT not in self.clean(text)

    def width(self, text: str, size: float) -> float:
        """Return how wide a cleaned text is, in points."""
        return float(
            sum(
                pdfmetrics.stringWidth(run, font, size)
                for font, run in self._runs(self._display(text))
            )
        )

    def draw(
        self,
        canvas: Any,
        text: str,
        at: tuple[float, float],
        size: float,
        *,
        bold: bool = False,
        leftwards: bool = False,
    ) -> None:
        """Draw a cleaned text on one line, its left end at a point of the page.

        Args:
            canvas: the page.
            text: the text, or a line of one.
            at: the left end of the line, in points.
            size: of the letters, in points.
            bold: whether its letters are drawn with an outline as well.
            leftwards: whether the whole text, of which this is a line, runs right to left.
        """
        line = canvas.beginText(*at)
        if bold:
            line.setTextRenderMode(2)
            canvas.setLineWidth(size * _BOLD_STROKE)
        for font, run in self._runs(self._display(text, leftwards=leftwards)):
            line.setFont(font, size)
            line.textOut(run)
        if bold:
            line.setTextRenderMode(0)
        canvas.drawText(line)

    def runs_leftwards(self, text: str) -> bool:
        """Whether a text begins at the right, by its first letter that has a direction."""
        return _has_right_to_left(text) and get_base_level(text) == 1

    def _display(self, text: str, *, leftwards: bool = False) -> str:
        if not leftwards and not _has_right_to_left(text):
            return text
        base = "R" if leftwards else "L"
        return str(get_display(self._reshaper.reshape(text), base_dir=base))

    def _can_set(self, character: str) -> bool:
        name = unicodedata.name(character, "")
        if name.startswith(_NEED_SHAPING):
            return False
        return any(ord(character) in letters for _, letters in self._fonts)

    def _runs(self, text: str) -> Iterator[tuple[str, str]]:
        """Yield the text cut where the font changes."""
        font, letters = self._fonts[0]
        if letters.issuperset(map(ord, text)):
            yield font, text
            return
        run = ""
        for character in text:
            its_font = self._font_of(character, font)
            if its_font != font and run:
                yield font, run
                run = ""
            font = its_font
            run += character
        if run:
            yield font, run

    def _font_of(self, character: str, current: str) -> str:
        having = [name for name, letters in self._fonts if ord(character) in letters]
        if current in having:
            return current
        return having[0] if having else self._fonts[0][0]


def _has_right_to_left(text: str) -> bool:
    return any(unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in text)


def _font_files() -> Iterator[tuple[str, Traversable]]:
    arimo = resources.files("fontpkg_arimo") / "files"
    yield "voicelog-arimo", arimo / "Arimo[wght].ttf"
    arabic = resources.files("fontpkg_noto_sans_arabic") / "files"
    yield "voicelog-arabic", arabic / "NotoSansArabic[wdth,wght].ttf"
