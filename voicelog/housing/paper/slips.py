"""Slips for interleaving: one for every sheet, laid with it until it is in its place."""

from __future__ import annotations

from voicelog.housing.paper.labels import name_volume
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.housing.plan import VolumePlan

_MARGIN_MM = 12.0
_COLUMNS = 2
_HEIGHT_MM = 27.0
_PAD_MM = 2.5


def draw_slips(paper: Paper, plan: VolumePlan) -> None:
    """Draw the slips of one volume on this page and as many more as it takes."""
    width = (paper.width_mm - 2 * _MARGIN_MM) / _COLUMNS
    rows = int((paper.height_mm - 2 * _MARGIN_MM) / _HEIGHT_MM)
    sheets = plan.interleaving.sheets
    for index, sheet in enumerate(sheets):
        place = index % (rows * _COLUMNS)
        if index and place == 0:
            paper.new_page()
        row, column = divmod(place, _COLUMNS)
        left, top = _MARGIN_MM + column * width, _MARGIN_MM + row * _HEIGHT_MM
        paper.frame((left, top), (width, _HEIGHT_MM), grey=0.6, width_pt=0.25, dashed=True)
        inner = Column(
            left_mm=left + _PAD_MM,
            top_mm=top + _PAD_MM,
            width_mm=width - 2 * _PAD_MM,
            bottom_mm=top + _HEIGHT_MM - 1,
        )
        kind = "buffered" if sheet.buffered else "UNBUFFERED"
        texts = (
            (f"interleaf {index + 1} of {len(sheets)}, {kind}", Style(size=9, bold=True), 1),
            (sheet.place, Style(size=9), 1),
            (name_volume(plan.volume), Style(size=7.5), 1),
            ("; ".join(sheet.reasons), Style(size=6.5, grey=0.2), 3),
        )
        at = inner.top_mm
        for text, style, most_lines in texts:
            under = Column(
                left_mm=inner.left_mm,
                top_mm=at,
                width_mm=inner.width_mm,
                bottom_mm=inner.bottom_mm,
            )
            at, _ = paper.flow(text, style, under, most_lines=most_lines)
