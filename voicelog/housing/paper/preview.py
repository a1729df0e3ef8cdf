"""A picture of a page, to look at before paper is used."""

from __future__ import annotations

from io import BytesIO


def draw_preview(pdf: bytes, *, page: int = 0, dots_per_inch: int = 110) -> bytes:
    """Return one page of a PDF as a PNG.

    Args:
        pdf: the file.
        page: which page, from 0.
        dots_per_inch: how fine.
    """
    # Only here: it brings a whole PDF renderer, which most commands don't need.
    import pypdfium2  # noqa: PLC0415

    with pypdfium2.PdfDocument(pdf) as document:
        picture = document[page].render(scale=dots_per_inch / 72).to_pil()
    out = BytesIO()
    picture.convert("L" if _is_grey(picture) else "RGB").save(out, "PNG", optimize=True)
    return out.getvalue()


def _is_grey(picture: object) -> bool:
    red, green, blue = picture.convert("RGB").split()  # type: ignore[attr-defined]
    return bool(red.tobytes() == green.tobytes() == blue.tobytes())
