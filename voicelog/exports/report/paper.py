"""The report as a PDF on A4, set from top to bottom; the same report gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

from voicelog.exports.report.blocks import (
    Block,
    Bullets,
    Document,
    Picture,
    Section,
    Table,
    Text,
    Tile,
    Tiles,
)
from voicelog.exports.report.drawing import Anchor, Box, Corner, Drawing, Ink, Label, Shape
from voicelog.housing.paper.lines import fit_text
from voicelog.housing.paper.typeface import Typeface

_WIDTH, _HEIGHT = A4
_MARGIN = 48.0
_ROOM = _WIDTH - 2 * _MARGIN
_TOP = _HEIGHT - _MARGIN
_BOTTOM = _MARGIN + 14
_LEADING = 1.35
_TILES_IN_A_ROW = 4
_TILE_HEIGHT = 66.0
_MOST_LINES = 1_000


def format_pdf(document: Document) -> bytes:
    """Return the report as a PDF."""
    return _Sheets(document).make()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Style:
    """How a text looks; the size in points."""

    size: float = 10.0
    ink: Ink = Ink.DARK
    bold: bool = False


_PLAIN = _Style()
_QUIET = _Style(ink=Ink.GREY)
_STRONG = _Style(bold=True)
_CELL = _Style(size=8.5)
_HEADER = _Style(size=8.5, ink=Ink.GREY, bold=True)
_FOOT = _Style(size=7.5, ink=Ink.GREY)


class _Sheets:
    """A PDF in the making: where the next line goes, and a fresh page where it needs one."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._typeface = Typeface()
        self._bytes = BytesIO()
        self._canvas = Canvas(self._bytes, pagesize=A4, invariant=1, pageCompression=1)
        self._canvas.setTitle(document.title)
        self._canvas.setAuthor("voicelog")
        self._canvas.setCreator("voicelog")
        self._y = _TOP
        self._page = 1

    def make(self) -> bytes:
        self._write(self._document.title, _Style(size=16.5, bold=True))
        self._y -= 3
        self._write(self._document.subtitle, _Style(size=9.5, ink=Ink.GREY))
        first, *others = self._document.sections
        self._section(first)
        # The first page is the report in short; what follows is for whoever wants to know more.
        if others:
            self._new_page()
        for section in others:
            self._section(section)
        self._foot()
        self._canvas.save()
        return self._bytes.getvalue()

    def _section(self, section: Section) -> None:
        self._keep_together(110)
        if self._y < _TOP:
            self._y -= 18
        self._write(section.title, _Style(size=13.5, bold=True))
        self._y -= 6
        self._canvas.setStrokeColor(HexColor(Ink.BLUE))
        self._canvas.setLineWidth(1.4)
        self._canvas.line(_MARGIN, self._y, _MARGIN + _ROOM, self._y)
        self._y -= 10
        for block in section.blocks:
            self._block(block)

    def _block(self, block: Block) -> None:
        match block:
            case Tiles():
                self._tiles(block.tiles)
            case Text():
                self._write(block.text)
                self._y -= 5
            case Bullets():
                for line in block.lines:
                    self._write(line, bullet=True)
                self._y -= 5
            case Table():
                self._table(block)
            case Picture():
                self._picture(block)

    # Text ------------------------------------------------------------------------------

    def _write(self, text: str, style: _Style = _PLAIN, *, bullet: bool = False) -> None:
        left = _MARGIN + (12 if bullet else 0)
        height = style.size * _LEADING
        for nth, line in enumerate(self._lines(text, style, width=_MARGIN + _ROOM - left)):
            self._keep_together(height)
            self._y -= height
            if bullet and nth == 0:
                self._draw("•", style, at=(_MARGIN + 2, self._y))
            self._draw(line, style, at=(left, self._y))

    def _lines(self, text: str, style: _Style, *, width: float) -> Sequence[str]:
        fitted = fit_text(
            text, self._typeface, size=style.size, width=width, most_lines=_MOST_LINES
        )
        return fitted.lines

    def _draw(
        self, text: str, style: _Style, *, at: tuple[float, float], anchor: Anchor = Anchor.START
    ) -> None:
        clean = self._typeface.clean(text)
        width = 0.0 if anchor is Anchor.START else self._typeface.width(clean, style.size)
        x = at[0] - (width / 2 if anchor is Anchor.MIDDLE else width)
        self._canvas.setFillColor(HexColor(style.ink))
        self._canvas.setStrokeColor(HexColor(style.ink))
        self._typeface.draw(self._canvas, clean, (x, at[1]), style.size, bold=style.bold)

    # Blocks ----------------------------------------------------------------------------

    def _tiles(self, tiles: Sequence[Tile]) -> None:
        gap = 8.0
        width = (_ROOM - gap * (_TILES_IN_A_ROW - 1)) / _TILES_IN_A_ROW
        for start in range(0, len(tiles), _TILES_IN_A_ROW):
            self._keep_together(_TILE_HEIGHT + gap)
            for column, tile in enumerate(tiles[start : start + _TILES_IN_A_ROW]):
                self._tile(tile, x=_MARGIN + column * (width + gap), width=width)
            self._y -= _TILE_HEIGHT + gap

    def _tile(self, tile: Tile, *, x: float, width: float) -> None:
        canvas = self._canvas
        canvas.setStrokeColor(HexColor(Ink.PALE))
        canvas.setLineWidth(0.8)
        canvas.rect(x, self._y - _TILE_HEIGHT, width, _TILE_HEIGHT, stroke=1, fill=0)
        canvas.setFillColor(HexColor(Ink.BLUE))
        canvas.rect(x, self._y - 2, width, 2, stroke=0, fill=1)
        size = 18.0
        while self._typeface.width(tile.value, size) > width - 14:
            size -= 1
        self._draw(tile.value, _Style(size=size, bold=True), at=(x + 7, self._y - 23))
        y = self._y - 23
        for text, style in ((tile.label, _CELL), (tile.note, _FOOT)):
            for line in self._lines(text, style, width=width - 12)[:2]:
                y -= style.size * _LEADING + 0.5
                self._draw(line, style, at=(x + 7, y))

    def _picture(self, picture: Picture) -> None:
        is_empty = picture.table is not None and not picture.table.rows
        height = 14 if is_empty else picture.drawing.height * self._scale(picture.drawing)
        self._keep_together(min(height + 26, _TOP - _BOTTOM))
        if picture.title:
            self._y -= 4
            self._write(picture.title, _STRONG)
            self._y -= 8
        if is_empty:
            self._write("None.", _QUIET)
        else:
            self._drawing(picture.drawing)
        self._y -= 10

    def _drawing(self, drawing: Drawing) -> None:
        """Draw, and go on on a fresh page where a drawing is longer than the page."""
        scale = self._scale(drawing)
        self._canvas.saveState()
        self._canvas.translate(_MARGIN, self._y)
        self._canvas.scale(scale, scale)
        for shape in drawing.shapes:
            self._shape(shape)
        self._canvas.restoreState()
        self._y -= drawing.height * scale

    def _shape(self, shape: Shape) -> None:
        canvas = self._canvas
        match shape:
            case Box():
                canvas.setFillColor(HexColor(shape.fill))
                canvas.setLineWidth(0.6)
                canvas.setDash(*([2, 2],) if shape.dashed else ())
                if shape.outline is not None:
                    canvas.setStrokeColor(HexColor(shape.outline))
                canvas.rect(
                    shape.x,
                    -shape.y - shape.height,
                    shape.width,
                    shape.height,
                    stroke=int(shape.outline is not None),
                    fill=1,
                )
                canvas.setDash()
            case Corner():
                canvas.setFillColor(HexColor(shape.fill))
                path = canvas.beginPath()
                path.moveTo(shape.right - shape.length, -shape.top)
                path.lineTo(shape.right, -shape.top)
                path.lineTo(shape.right, -shape.top - shape.length)
                path.close()
                canvas.drawPath(path, stroke=0, fill=1)
            case Label():
                style = _Style(size=shape.size, ink=shape.ink, bold=shape.bold)
                self._draw(shape.text, style, at=(shape.x, -shape.y), anchor=shape.anchor)

    @staticmethod
    def _scale(drawing: Drawing) -> float:
        longest = (_TOP - _BOTTOM - 30) / max(1.0, drawing.height)
        return float(min(_ROOM / drawing.width, longest))

    def _table(self, table: Table) -> None:
        """Write a table; its headings stand above a row, on every page that it takes."""
        widths = self._column_widths(table)
        head = self._set_row(table.headers, widths, _HEADER)
        for nth, row in enumerate(table.rows):
            cells = self._set_row(row, widths, _CELL)
            needed = _row_height(cells, _CELL)
            if nth == 0 or self._y - needed < _BOTTOM:
                self._keep_together(_row_height(head, _HEADER) + needed)
                self._row(head, widths, table, _HEADER)
            self._row(cells, widths, table, _CELL)
        self._y -= 8

    def _set_row(
        self, cells: Sequence[str], widths: Sequence[float], style: _Style
    ) -> list[Sequence[str]]:
        """Return the lines of every cell."""
        return [
            self._lines(cell, style, width=width - 8)
            for cell, width in zip(cells, widths, strict=True)
        ]

    def _row(
        self,
        columns: Sequence[Sequence[str]],
        widths: Sequence[float],
        table: Table,
        style: _Style,
    ) -> None:
        line_height = style.size * _LEADING
        height = _row_height(columns, style)
        self._keep_together(height)
        x = _MARGIN
        for nth, (lines, width) in enumerate(zip(columns, widths, strict=True)):
            anchor = Anchor.END if nth in table.numbers else Anchor.START
            at_x = x + width - 10 if nth in table.numbers else x
            for row, line in enumerate(lines, start=1):
                self._draw(line, style, at=(at_x, self._y - row * line_height), anchor=anchor)
            x += width
        self._y -= height
        self._canvas.setStrokeColor(HexColor(Ink.PALE))
        self._canvas.setLineWidth(0.5)
        self._canvas.line(_MARGIN, self._y, _MARGIN + _ROOM, self._y)

    def _column_widths(self, table: Table) -> list[float]:
        """Return widths that give every column what it needs, or its share of the room."""
        needed = [
            min(220.0, max(self._typeface.width(text, _CELL.size) for text in column) + 14)
            for column in self._columns(table)
        ]
        total = sum(needed)
        if total <= _ROOM:
            return needed
        short = [width if width < _ROOM / len(needed) else 0.0 for width in needed]
        rest = (_ROOM - sum(short)) / max(1, short.count(0.0))
        return [width or rest for width in short]

    def _columns(self, table: Table) -> Iterator[tuple[str, ...]]:
        for nth, header in enumerate(table.headers):
            yield tuple(
                self._typeface.clean(text) for text in (header, *(row[nth] for row in table.rows))
            )

    # Pages -----------------------------------------------------------------------------

    def _keep_together(self, height: float) -> None:
        if self._y - height < _BOTTOM:
            self._new_page()

    def _new_page(self) -> None:
        self._foot()
        self._canvas.showPage()
        self._page += 1
        self._y = _TOP

    def _foot(self) -> None:
        y = _MARGIN - 8
        self._draw(self._document.title, _FOOT, at=(_MARGIN, y))
        self._draw(str(self._page), _FOOT, at=(_MARGIN + _ROOM, y), anchor=Anchor.END)


def _row_height(columns: Sequence[Sequence[str]], style: _Style) -> float:
    return max(1, *(len(lines) for lines in columns)) * style.size * _LEADING + 4
