"""Pages in millimetres from the upper left corner, as one measures on paper."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from voicelog.housing.paper.codes import draw_code128, draw_qr
from voicelog.housing.paper.lines import Fitted, fit_text
from voicelog.housing.paper.typeface import Typeface

LEADING = 1.22
"""Distance from line to line, in sizes of the letters."""
_ASCENT = 0.93  # from the top of a line to where its letters stand, in sizes of the letters
MM_PER_POINT = 25.4 / 72
POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """How a text looks: size in points, weight, and how dark (0 black, 1 white)."""

    size: float
    bold: bool = False
    grey: float = 0.0

    @property
    def line_mm(self) -> float:
        """The height of one line."""
        return self.size * LEADING * MM_PER_POINT


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A place for text: its upper left corner, its width, and where it ends, in mm."""

    left_mm: float
    top_mm: float
    width_mm: float
    bottom_mm: float


class Paper:
    """A PDF that is drawn page by page; the same calls give the same bytes."""

    def __init__(self, title: str, typeface: Typeface, size_mm: tuple[float, float]) -> None:
        self.typeface = typeface
        self.width_mm, self.height_mm = size_mm
        self._bytes = BytesIO()
        self._canvas = Canvas(
            self._bytes,
            pagesize=(self.width_mm * POINTS_PER_MM, self.height_mm * POINTS_PER_MM),
            invariant=1,
            pageCompression=1,
        )
        self._canvas.setTitle(title)
        self._canvas.setAuthor("voicelog")
        self._canvas.setCreator("voicelog")
        self.pages = 1

    def new_page(self) -> None:
        """Begin another page."""
        self._canvas.showPage()
        self.pages += 1

    def finish(self) -> bytes:
        """Return the PDF; nothing can be drawn afterwards."""
        self._canvas.save()
        return self._bytes.getvalue()

    def fit(self, text: str, style: Style, *, width_mm: float, most_lines: int) -> Fitted:
        """Return how a text goes on lines of a width."""
        return fit_text(
            text,
            self.typeface,
            size=style.size,
            width=width_mm * POINTS_PER_MM,
            most_lines=most_lines,
        )

    def text_width_mm(self, text: str, style: Style) -> float:
        """Return how wide a text is on one line."""
        return self.typeface.width(self.typeface.clean(text), style.size) * MM_PER_POINT

    def write(self, fitted: Fitted, style: Style, column: Column) -> float:
        """Write lines from the top of a column; return where the next one would begin, in mm.

        Text that runs from right to left stands at the right of the column.
        """
        top_mm = column.top_mm
        self._canvas.setFillGray(style.grey)
        self._canvas.setStrokeGray(style.grey)
        for line in fitted.lines:
            left = column.left_mm * POINTS_PER_MM
            if fitted.leftwards:
                left += column.width_mm * POINTS_PER_MM - self.typeface.width(line, style.size)
            baseline = self._up(top_mm) - _ASCENT * style.size
            self.typeface.draw(
                self._canvas,
                line,
                (left, baseline),
                style.size,
                bold=style.bold,
                leftwards=fitted.leftwards,
            )
            top_mm += style.line_mm
        return top_mm

    def flow(
        self, text: str, style: Style, column: Column, *, most_lines: int = 1000
    ) -> tuple[float, bool]:
        """Write a text down a column, as much as there is room for.

        Returns:
            where the next line would begin, in mm, and whether the text was shortened.
        """
        room = int((column.bottom_mm - column.top_mm + 0.05) / style.line_mm)
        fitted = self.fit(
            text, style, width_mm=column.width_mm, most_lines=max(0, min(most_lines, room))
        )
        return self.write(fitted, style, column), fitted.is_short

    def line(self, text: str, style: Style, column: Column) -> float:
        """Write a text that fits on one line, shortened where it doesn't."""
        below_mm, _ = self.flow(text, style, column, most_lines=1)
        return below_mm

    def rule(self, start_mm: tuple[float, float], end_mm: tuple[float, float], *, grey: float = 0.0,
             width_pt: float = 0.4) -> None:  # fmt: skip
        """Draw a straight line."""
        self._canvas.setStrokeGray(grey)
        self._canvas.setLineWidth(width_pt)
        self._canvas.line(
            start_mm[0] * POINTS_PER_MM,
            self._up(start_mm[1]),
            end_mm[0] * POINTS_PER_MM,
            self._up(end_mm[1]),
        )

    def frame(
        self,
        corner_mm: tuple[float, float],
        size_mm: tuple[float, float],
        *,
        fill: float | tuple[float, float, float] | None = None,
        grey: float = 0.0,
        width_pt: float = 0.5,
        dashed: bool = False,
    ) -> None:
        """Draw a rectangle; ``fill`` is a grey or a colour, ``width_pt`` 0 leaves out its edge."""
        canvas = self._canvas
        canvas.setStrokeGray(grey)
        canvas.setLineWidth(width_pt)
        canvas.setDash(*([2, 1.5],) if dashed else ())
        if isinstance(fill, tuple):
            canvas.setFillColorRGB(*fill)
        elif fill is not None:
            canvas.setFillGray(fill)
        canvas.rect(
            corner_mm[0] * POINTS_PER_MM,
            self._up(corner_mm[1] + size_mm[1]),
            size_mm[0] * POINTS_PER_MM,
            size_mm[1] * POINTS_PER_MM,
            stroke=int(width_pt > 0),
            fill=int(fill is not None),
        )
        canvas.setDash()

    def picture(
        self, jpeg: bytes, corner_mm: tuple[float, float], room_mm: tuple[float, float]
    ) -> None:
        """Draw a picture as large as a room allows, from its upper left corner."""
        image = ImageReader(BytesIO(jpeg))
        width, height = image.getSize()
        scale = min(room_mm[0] / width, room_mm[1] / height)
        size_mm = (width * scale, height * scale)
        left, bottom = self._point((corner_mm[0], corner_mm[1] + size_mm[1]))
        across, up = (side * POINTS_PER_MM for side in size_mm)
        self._canvas.drawImage(image, left, bottom, across, up)

    def qr(self, text: str, corner_mm: tuple[float, float], side_mm: float) -> None:
        """Draw a QR code with its quiet zone."""
        at = self._point((corner_mm[0], corner_mm[1] + side_mm))
        draw_qr(self._canvas, text, at, side_mm * POINTS_PER_MM)

    def code128(
        self, text: str, corner_mm: tuple[float, float], size_mm: tuple[float, float]
    ) -> None:
        """Draw a Code 128 with its quiet zones."""
        self._canvas.setFillGray(0)
        at = (corner_mm[0] * POINTS_PER_MM, self._up(corner_mm[1] + size_mm[1]))
        draw_code128(
            self._canvas, text, at, (size_mm[0] * POINTS_PER_MM, size_mm[1] * POINTS_PER_MM)
        )

    def _point(self, corner_mm: tuple[float, float]) -> tuple[float, float]:
        return corner_mm[0] * POINTS_PER_MM, self._up(corner_mm[1])

    def _up(self, top_mm: float) -> float:
        return (self.height_mm - top_mm) * POINTS_PER_MM
