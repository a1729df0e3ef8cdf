"""Box labels: one for the edge that faces out on the shelf, one for the lid.

Labels go on an edge that can be read on the shelf (bench practice, no published source).
"""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.housing.paper.labels import BoxLabel
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.vocabulary.concepts import Vocabulary

_MARGIN_MM = 12.0
_PAD_MM = 4.0
_LARGEST_EDGE_MM, _SMALLEST_EDGE_MM = 46.0, 24.0
_EDGE_ROOM_MM = 4.0  # less than the edge itself, so that the label doesn't bend round it
_LID_MM = 84.0
_CODE_MM = 11.0
_GAP_MM = 6.0


def draw_box_labels(paper: Paper, labels: Sequence[BoxLabel], vocabulary: Vocabulary) -> bool:
    """Draw the labels of all boxes, two boxes on a page; return whether there were any."""
    top = _MARGIN_MM
    for index, label in enumerate(labels):
        edge_mm = max(_SMALLEST_EDGE_MM, min(label.edge_mm - _EDGE_ROOM_MM, _LARGEST_EDGE_MM))
        if index and top + edge_mm + _GAP_MM + _LID_MM > paper.height_mm - _MARGIN_MM:
            paper.new_page()
            top = _MARGIN_MM
        _draw_edge(paper, label, top, edge_mm)
        _draw_lid(paper, label, vocabulary, top + edge_mm + _GAP_MM)
        top += edge_mm + _GAP_MM + _LID_MM + 2 * _GAP_MM
    return bool(labels)


def _draw_edge(paper: Paper, label: BoxLabel, top: float, height: float) -> None:
    width = paper.width_mm - 2 * _MARGIN_MM
    paper.frame((_MARGIN_MM, top), (width, height), grey=0.6, width_pt=0.3, dashed=True)
    code_mm = min(height - 2, 34.0)
    code_left = _MARGIN_MM + width - code_mm - 1
    paper.qr(label.code, (code_left, top + (height - code_mm) / 2), code_mm)
    column = Column(
        left_mm=_MARGIN_MM + _PAD_MM,
        top_mm=top + _PAD_MM * 0.7,
        width_mm=code_left - _MARGIN_MM - 2 * _PAD_MM,
        bottom_mm=top + height - 1,
    )
    scale = height / _LARGEST_EDGE_MM
    at = paper.line(f"{label.accession}   {label.heading}".strip(), _style(26 * scale), column)
    at = paper.line(label.volume, _style(19 * scale), _below(column, at))
    paper.flow(label.contents, Style(size=max(8.0, 11 * scale)), _below(column, at + 0.8))


def _draw_lid(paper: Paper, label: BoxLabel, vocabulary: Vocabulary, top: float) -> None:
    width = paper.width_mm - 2 * _MARGIN_MM
    paper.frame((_MARGIN_MM, top), (width, _LID_MM), grey=0.6, width_pt=0.3, dashed=True)
    column = Column(
        left_mm=_MARGIN_MM + _PAD_MM,
        top_mm=top + _PAD_MM,
        width_mm=width - 2 * _PAD_MM,
        bottom_mm=top + _LID_MM - _CODE_MM - 5,
    )
    at = paper.line(f"{label.accession}   {label.heading}".strip(), _style(22), column)
    at = paper.line(label.volume, _style(16), _below(column, at))
    kept = f"{label.contents}. About {label.weight_kg:.1f} kg. Keep flat."
    at, _ = paper.flow(kept, Style(size=10.5), _below(column, at + 1), most_lines=2)
    for caution in label.cautions:
        known = vocabulary.cautions[caution]
        at, _ = paper.flow(
            f"{known.title}. {known.wording}", Style(size=7), _below(column, at + 0.8)
        )
    paper.code128(
        label.code,
        (_MARGIN_MM + _PAD_MM, top + _LID_MM - _CODE_MM - 2),
        (width - 2 * _PAD_MM, _CODE_MM),
    )


def _style(size: float) -> Style:
    return Style(size=size, bold=True)


def _below(column: Column, top_mm: float) -> Column:
    return Column(
        left_mm=column.left_mm,
        top_mm=top_mm,
        width_mm=column.width_mm,
        bottom_mm=column.bottom_mm,
    )
