"""Labels on label sheets, and the page that shows whether a printer meets them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicelog.housing.paper.labels import Label, caution_lines
from voicelog.housing.paper.layouts import LabelLayout
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.housing.paper.typeface import Typeface
from voicelog.vocabulary.concepts import Vocabulary

_PAD_MM = 2.2
_CODE_SHARE = 0.36  # of a label's width, at most
_LARGEST_CODE_MM = 24.0
_USUAL_HEIGHT_MM = 38.1
_USUAL_SIZE, _SMALLEST_SIZE, _LARGEST_SIZE = 6.8, 5.4, 9.5
_SMALL_PRINT = 4.6
_CROSS_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSheets:
    """A PDF of label sheets.

    Attributes:
        pdf: the file.
        pages: how many sheets it has.
        shortened: the labels on which a text was shortened; the list has it in full.
        unprinted: the labels with characters that can't be printed.
    """

    pdf: bytes
    pages: int
    shortened: tuple[Label, ...]
    unprinted: tuple[Label, ...]


def print_labels(
    labels: Sequence[Label],
    layout: LabelLayout,
    vocabulary: Vocabulary,
    *,
    closing: str,
    skip: int = 0,
) -> LabelSheets:
    """Return labels on sheets, row by row.

    Args:
        labels: the labels.
        layout: the sheet.
        vocabulary: knows the titles of cautions.
        closing: the sentence that ends every caution.
        skip: how many labels of the first sheet were used before.
    """
    paper = Paper("Labels", Typeface(), (layout.page_width_mm, layout.page_height_mm))
    printer = _LabelPrinter(paper, layout, vocabulary, closing)
    shortened = []
    for index, label in enumerate(labels, start=skip % layout.per_page):
        place = index % layout.per_page
        if place == 0 and index:
            paper.new_page()
        if printer.draw(label, layout.corner_mm(place)):
            shortened.append(label)
    return LabelSheets(
        pdf=paper.finish(),
        pages=paper.pages,
        shortened=tuple(shortened),
        unprinted=tuple(
            label
            for label in labels
            if not paper.typeface.has_all(f"{label.mark} {label.what} {label.caption}")
        ),
    )


def print_alignment(layout: LabelLayout) -> bytes:
    """Return a page with the outline of every label and rulers, to hold against a sheet."""
    paper = Paper("Alignment", Typeface(), (layout.page_width_mm, layout.page_height_mm))
    size = (layout.label_width_mm, layout.label_height_mm)
    small = Style(size=6.5)
    for index in range(layout.per_page):
        left, top = layout.corner_mm(index)
        paper.frame((left, top), size, width_pt=0.4)
        middle = (left + size[0] / 2, top + size[1] / 2)
        if index:
            paper.rule((middle[0] - _CROSS_MM, middle[1]), (middle[0] + _CROSS_MM, middle[1]))
            paper.rule((middle[0], middle[1] - _CROSS_MM), (middle[0], middle[1] + _CROSS_MM))
        column = Column(
            left_mm=left + _PAD_MM, top_mm=top + _PAD_MM, width_mm=size[0], bottom_mm=top + size[1]
        )
        paper.line(str(index + 1), Style(size=9, bold=True), column)
        if index == 0:
            _explain_alignment(paper, layout, column, small)
    _draw_rulers(paper, layout)
    return paper.finish()


def _explain_alignment(paper: Paper, layout: LabelLayout, column: Column, style: Style) -> None:
    text = (
        f"{layout.name}: print at 100 %, without fitting to the page. Hold this page and a label "
        "sheet against the light: the outlines meet the labels to half a millimetre. Else "
        "measure, and write your sheet down in the table that label_file names."
    )
    width_mm = layout.label_width_mm - 2 * _PAD_MM
    under = Column(
        left_mm=column.left_mm,
        top_mm=column.top_mm + 4.5,
        width_mm=width_mm,
        bottom_mm=column.bottom_mm - 1,
    )
    paper.flow(text, style, under)


def _draw_rulers(paper: Paper, layout: LabelLayout) -> None:
    """Draw 100 mm along the middle of the page, both ways, a stroke for every 10 mm."""
    across, down = layout.page_width_mm / 2, layout.page_height_mm / 2
    paper.rule((across - 50, down), (across + 50, down), grey=0.55)
    paper.rule((across, down - 50), (across, down + 50), grey=0.55)
    for step in range(11):
        at = 10 * step - 50
        length = 3.0 if step in {0, 10} else 1.5
        paper.rule((across + at, down - length), (across + at, down + length), grey=0.55)
        paper.rule((across - length, down + at), (across + length, down + at), grey=0.55)
    column = Column(left_mm=across + 38, top_mm=down + 3.2, width_mm=20, bottom_mm=down + 8)
    paper.line("100 mm", Style(size=6, grey=0.4), column)


class _LabelPrinter:
    """Draws labels of one layout; knows how large letters and code are on it."""

    def __init__(
        self, paper: Paper, layout: LabelLayout, vocabulary: Vocabulary, closing: str
    ) -> None:
        self._paper = paper
        self._layout = layout
        self._vocabulary = vocabulary
        self._closing = closing
        size = _USUAL_SIZE * layout.label_height_mm / _USUAL_HEIGHT_MM
        size = max(_SMALLEST_SIZE, min(size, _LARGEST_SIZE))
        self._text = Style(size=size)
        self._strong = Style(size=size + 0.8, bold=True)
        self._heading = Style(size=size + 2.6, bold=True)
        self._small = Style(size=_SMALL_PRINT, grey=0.15)
        self._code_mm = min(
            layout.label_height_mm - 2 * _PAD_MM - 2,
            layout.label_width_mm * _CODE_SHARE,
            _LARGEST_CODE_MM,
        )

    def draw(self, label: Label, corner_mm: tuple[float, float]) -> bool:
        """Draw one label; return whether a text on it was shortened."""
        left, top = corner_mm
        width, height = self._layout.label_width_mm, self._layout.label_height_mm
        if self._layout.cut_marks:
            self._paper.frame(corner_mm, (width, height), grey=0.6, width_pt=0.25, dashed=True)
        code_left = left + width - _PAD_MM - self._code_mm + 1.2
        self._paper.qr(label.code, (code_left, top + _PAD_MM - 0.8), self._code_mm)
        code_bottom = top + _PAD_MM - 0.8 + self._code_mm
        bottom = self._draw_small_print(
            label, left, top + height - _PAD_MM + 0.6, (code_left, code_bottom)
        )
        is_short = False
        at = top + _PAD_MM
        for text, style, most_lines in self._fields(label):
            if not text:
                continue
            # Beneath the code a line may run on to the right edge.
            beside = at + style.line_mm * 0.5 < code_bottom
            column = Column(
                left_mm=left + _PAD_MM,
                top_mm=at,
                width_mm=(code_left - left - _PAD_MM) if beside else width - 2 * _PAD_MM,
                bottom_mm=bottom,
            )
            at, short = self._paper.flow(text, style, column, most_lines=most_lines)
            is_short = is_short or short
        return is_short

    def _fields(self, label: Label) -> Iterator[tuple[str, Style, int]]:
        yield label.heading, self._heading, 1
        yield label.mark, self._strong, 2
        yield label.place, self._text, 2
        yield label.what, self._text, 2
        yield label.volume, self._text, 2
        yield f"“{label.caption}”" if label.caption else "", self._text, 6

    def _draw_small_print(
        self, label: Label, left: float, bottom: float, code_corner: tuple[float, float]
    ) -> float:
        """Write note and caution at the foot of a label; return where they begin, in mm.

        They run beneath the code where there is room beneath it, else beside it.
        """
        texts = (
            *caution_lines(label.cautions, self._vocabulary, closing=self._closing),
            *([label.note] if label.note else []),
        )
        inner = left + _PAD_MM
        for width in (self._layout.label_width_mm - 2 * _PAD_MM, code_corner[0] - inner):
            fitted = [
                self._paper.fit(text, self._small, width_mm=width, most_lines=4) for text in texts
            ]
            top = bottom - sum(len(each.lines) for each in fitted) * self._small.line_mm
            if top >= code_corner[1]:
                break
        at = top
        for each in fitted:
            column = Column(left_mm=inner, top_mm=at, width_mm=width, bottom_mm=bottom)
            at = self._paper.write(each, self._small, column)
        return top
