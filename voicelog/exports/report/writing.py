"""A report to a file, in the form that its name asks for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from voicelog.errors import UsageError
from voicelog.exports.report.blocks import Document
from voicelog.exports.target import new_target


def write_report(document: Document, path: Path) -> None:
    """Write a report as a page (``.html``) or as PDF (``.pdf``).

    Raises:
        UsageError: the name ends with neither, or the file can't be there.
        StoreError: it could not be written.
    """
    content: Iterator[bytes]
    match path.suffix.lower():
        case ".html" | ".htm":
            from voicelog.exports.report.page import iter_page  # noqa: PLC0415 - one of two

            content = (piece.encode("utf-8") for piece in iter_page(document))
        case ".pdf":
            from voicelog.exports.report.paper import format_pdf  # noqa: PLC0415 - one of two

            content = iter((format_pdf(document),))
        case _:
            raise UsageError(
                f"{path} ends with neither .html nor .pdf; name the report so that one can tell "
                "what it should be."
            )
    with new_target(path) as unfinished:
        with unfinished.path.open("wb") as file:
            file.writelines(content)
        unfinished.seal()
        unfinished.take_name()
