"""Codes that a scanner reads: QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417).

A code holds a stable identifier: the id of the entry that the label is for, which survives
reordering, splitting and moving between logs.
"""

from __future__ import annotations

from typing import Any

import segno
from reportlab.graphics.barcode.code128 import Code128

_QUIET_MODULES = 4
"""White modules around a QR code (ISO/IEC 18004, quiet zone; from memory)."""
_QUIET_BARS = 10
"""White modules before and after a Code 128 (ISO/IEC 15417, quiet zone; from memory)."""


def draw_qr(canvas: Any, text: str, at: tuple[float, float], side: float) -> None:
    """Draw a QR code with its quiet zone into a square.

    Args:
        canvas: the page.
        text: what it says.
        at: the lower left corner, in points.
        side: of the square, in points.
    """
    rows = _qr_rows(text)
    module = side / (len(rows) + 2 * _QUIET_MODULES)
    left, top = at[0] + _QUIET_MODULES * module, at[1] + side - _QUIET_MODULES * module
    path = canvas.beginPath()
    for index, row in enumerate(rows):
        for first, length in row:
            path.rect(left + first * module, top - (index + 1) * module, length * module, module)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def draw_code128(
    canvas: Any, text: str, at: tuple[float, float], size: tuple[float, float]
) -> None:
    """Draw a Code 128 with its quiet zones into a rectangle; at and size are in points."""
    width, height = size
    plain = Code128(text, barWidth=1, barHeight=height, quiet=0)
    module = width / (plain.width + 2 * _QUIET_BARS)
    code = Code128(text, barWidth=module, barHeight=height, quiet=0)
    code.drawOn(canvas, at[0] + _QUIET_BARS * module, at[1])


def _qr_rows(text: str) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Return, for every row of modules, where dark runs begin and how long they are."""
    matrix = segno.make(text, micro=False, error="m", boost_error=False).matrix
    rows = []
    for row in matrix:
        runs: list[tuple[int, int]] = []
        for column, dark in enumerate(row):
            if not dark:
                continue
            if runs and sum(runs[-1]) == column:
                runs[-1] = (runs[-1][0], runs[-1][1] + 1)
            else:
                runs.append((column, 1))
        rows.append(tuple(runs))
    return tuple(rows)
