"""Drawings as SVG, to stand inside a page."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from voicelog.exports.report.drawing import Box, Corner, Drawing, Label, Shape


def format_svg(drawing: Drawing) -> str:
    """Return a drawing as an SVG element; all text in it is escaped."""
    shapes = "".join(_format(shape) for shape in drawing.shapes)
    return (
        f'<svg role="img" aria-label="{escape(drawing.described)}" '
        f'viewBox="0 0 {drawing.width:g} {drawing.height:g}" '
        f'width="{drawing.width:g}" height="{drawing.height:g}">{shapes}</svg>'
    )


def _format(shape: Shape) -> str:
    match shape:
        case Box():
            return f"<rect {' '.join(_box_attributes(shape))}/>"
        case Corner():
            right, top, length = shape.right, shape.top, shape.length
            points = f"{right - length:g},{top:g} {right:g},{top:g} {right:g},{top + length:g}"
            return f'<polygon points="{points}" fill="{shape.fill}"/>'
        case Label():
            weight = ' font-weight="600"' if shape.bold else ""
            return (
                f'<text x="{shape.x:g}" y="{shape.y:g}" font-size="{shape.size:g}" '
                f'text-anchor="{shape.anchor}" fill="{shape.ink}"{weight}>'
                f"{escape(shape.text)}</text>"
            )


def _box_attributes(box: Box) -> Iterator[str]:
    yield f'x="{box.x:g}" y="{box.y:g}" width="{box.width:g}" height="{box.height:g}"'
    yield f'fill="{box.fill}"'
    if box.outline is not None:
        yield f'stroke="{box.outline}" stroke-width="0.7"'
    if box.dashed:
        yield 'stroke-dasharray="2 2"'
