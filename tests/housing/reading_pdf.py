"""Reading a PDF back with a renderer and a bar code decoder that nobody here wrote.

Rendered with PDFium, decoded with zxing-cpp (both Apache 2.0); neither draws our pages.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pypdfium2
import zxingcpp
from PIL import Image


def render(pdf: bytes, *, dots_per_inch: int = 200) -> Iterator[Image.Image]:
    """Yield the pages of a PDF as pictures."""
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            yield page.render(scale=dots_per_inch / 72).to_pil().convert("L")


def texts(pdf: bytes) -> list[str]:
    """Return the text of every page, as a reader would copy it out, spaces made single."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def codes(pdf: bytes, *, dots_per_inch: int = 200) -> list[tuple[str, str]]:
    """Return kind and text of every code on every page, from top to bottom, left to right."""
    found: list[tuple[str, str]] = []
    for picture in render(pdf, dots_per_inch=dots_per_inch):
        decoded: list[Any] = list(zxingcpp.read_barcodes(picture))
        decoded.sort(key=lambda code: (code.position.top_left.y // 20, code.position.top_left.x))
        found += [(code.format.name, code.text) for code in decoded]
    return found


def size_mm(pdf: bytes) -> tuple[float, float]:
    """Return width and height of the first page."""
    with pypdfium2.PdfDocument(pdf) as document:
        width, height = document[0].get_size()
        return width / 72 * 25.4, height / 72 * 25.4
