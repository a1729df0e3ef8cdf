"""Growth curves of measured times: ``python -m tests.benchmarks.scale.picture RESULTS PICTURE``.

Reads the lines that ``growth --out`` has written and draws the 95th percentiles, of the processor,
against the size of the log; both axes are logarithmic.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

_WIDTH, _HEIGHT = 1100, 620
_LEFT, _RIGHT, _TOP, _BOTTOM = 80, 760, 50, 560
_LEAST_MS, _MOST_MS, _WANTED_MS = 0.5, 1000.0, 100.0
_COLOURS = (
    "#1b6ca8", "#c23b22", "#2e8b57", "#8a5a00", "#6a4c93", "#00838f", "#ad1457", "#5d6d1e",
    "#455a64", "#e07b00", "#3949ab", "#7b1fa2", "#00695c", "#b71c1c", "#4e342e",
)  # fmt: skip


def draw(results: Path, picture: Path) -> None:
    """Draw every thing that was measured as one curve."""
    lines = [json.loads(line) for line in results.read_text(encoding="utf-8").splitlines()]
    curves: dict[str, list[tuple[int, float]]] = {}
    for line in lines:
        if "processor_p95" in line:
            curves.setdefault(line["what"], []).append((line["entries"], line["processor_p95"]))
    sizes = sorted({size for curve in curves.values() for size, _ in curve})
    image = Image.new("RGB", (_WIDTH, _HEIGHT), "white")
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(size=14)

    def across(size: int) -> float:
        first, last = math.log10(sizes[0]), math.log10(sizes[-1])
        return _LEFT + (math.log10(size) - first) / max(last - first, 1e-9) * (_RIGHT - _LEFT)

    def up(ms: float) -> float:
        share = math.log10(min(max(ms, _LEAST_MS), _MOST_MS) / _LEAST_MS)
        return _BOTTOM - share / math.log10(_MOST_MS / _LEAST_MS) * (_BOTTOM - _TOP)

    pen.text((_LEFT, 15), "95th percentile, milliseconds of the processor", "black", font)
    for ms in (1, 10, 100, 1000):
        colour = "#c23b22" if ms == _WANTED_MS else "#dddddd"
        pen.line((_LEFT, up(ms), _RIGHT, up(ms)), colour)
        pen.text((_LEFT - 50, up(ms) - 8), f"{ms:>4}", "black", font)
    for size in sizes:
        pen.line((across(size), _TOP, across(size), _BOTTOM), "#dddddd")
        pen.text((across(size) - 30, _BOTTOM + 8), f"{size:,}", "black", font)
    pen.text((_LEFT + 270, _BOTTOM + 32), "entries in the log", "black", font)
    for nth, (what, curve) in enumerate(curves.items()):
        colour = _COLOURS[nth % len(_COLOURS)]
        points = [(across(size), up(ms)) for size, ms in sorted(curve)]
        pen.line(points, colour, width=2)
        for x, y in points:
            pen.ellipse((x - 3, y - 3, x + 3, y + 3), colour)
        y = _TOP + nth * 26
        pen.line((_RIGHT + 30, y + 9, _RIGHT + 60, y + 9), colour, width=3)
        pen.text((_RIGHT + 70, y), what, "black", font)
    image.quantize(64).save(picture, optimize=True)


if __name__ == "__main__":
    draw(Path(sys.argv[1]), Path(sys.argv[2]))
