"""The ranking of volumes for care as a picture: each bar is the sum of its named parts."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.housing.paper.labels import name_volume
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.housing.paper.typeface import Typeface
from voicelog.housing.triage import Ranked

_MARGIN_MM = 15.0
_BAR_MM = 7.0
_ROW_MM = 17.0
# Nine hues of even lightness that are told apart in greyscale by the words beside them, too.
_COLOURS = (
    (0.55, 0.20, 0.20), (0.33, 0.45, 0.30), (0.72, 0.45, 0.20), (0.36, 0.36, 0.58),
    (0.80, 0.65, 0.30), (0.50, 0.62, 0.68), (0.62, 0.45, 0.55), (0.45, 0.45, 0.45),
    (0.70, 0.70, 0.60),
)  # fmt: skip


def print_ranking(ranking: Sequence[Ranked], *, size_mm: tuple[float, float]) -> bytes:
    """Return the ranking as a PDF, as many pages as it takes.

    Args:
        ranking: the volumes, the one that needs care most first.
        size_mm: width and height of the paper.
    """
    paper = Paper("Care first", Typeface(), size_mm)
    width = paper.width_mm - 2 * _MARGIN_MM
    highest = max((ranked.points for ranked in ranking), default=0.0) or 1.0
    at = paper.height_mm
    for rank, ranked in enumerate(ranking, start=1):
        if at + _ROW_MM > paper.height_mm - _MARGIN_MM:
            if rank > 1:
                paper.new_page()
            at = _draw_head(paper, ranking, width)
        column = Column(left_mm=_MARGIN_MM, top_mm=at, width_mm=width, bottom_mm=at + 6)
        title = f"{rank}. {name_volume(ranked.volume)}: {ranked.points:.1f}"
        top = paper.line(title, Style(size=10, bold=True), column) + 0.4
        left = _MARGIN_MM
        for index, score in enumerate(ranked.scores):
            length = width * score.points / highest
            if length > 0:
                paper.frame(
                    (left, top), (length, _BAR_MM), fill=_colour(index), grey=1, width_pt=0.6
                )
            if length > 9:
                inside = Column(
                    left_mm=left + 1, top_mm=top + 1.7, width_mm=length, bottom_mm=top + _BAR_MM
                )
                paper.line(f"{score.points:.1f}", Style(size=8, grey=1), inside)
            left += length
        at += _ROW_MM
    if not ranking:
        _draw_head(paper, ranking, width)
    return paper.finish()


def _draw_head(paper: Paper, ranking: Sequence[Ranked], width: float) -> float:
    """Draw title and key; return where the first row begins, in mm."""
    column = Column(left_mm=_MARGIN_MM, top_mm=_MARGIN_MM, width_mm=width, bottom_mm=60)
    at = paper.line("Care first", Style(size=16, bold=True), column) + 1.5
    left = _MARGIN_MM
    for index, score in enumerate(ranking[0].scores if ranking else ()):
        style = Style(size=8)
        needed = 6 + paper.text_width_mm(score.measure, style) + 5
        if left + needed > paper.width_mm - _MARGIN_MM:
            left, at = _MARGIN_MM, at + 5
        paper.frame((left, at), (4, 3.2), fill=_colour(index), width_pt=0)
        key = Column(left_mm=left + 5.2, top_mm=at - 0.1, width_mm=needed, bottom_mm=at + 5)
        paper.line(score.measure, style, key)
        left += needed
    return at + 10


def _colour(index: int) -> tuple[float, float, float]:
    return _COLOURS[index % len(_COLOURS)]
