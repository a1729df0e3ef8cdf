"""The report as one HTML page that needs nothing beside it."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources

from voicelog.exports.report.blocks import (
    Bullets,
    Document,
    Picture,
    Table,
    Text,
    Tiles,
)
from voicelog.exports.report.svg import format_svg


def iter_page(document: Document) -> Iterator[str]:
    """Yield the page piece by piece: no script, no address in it, and every text escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415 - only here
    from markupsafe import Markup  # noqa: PLC0415 - as above

    environment = Environment(
        loader=PackageLoader("voicelog.exports.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # format_svg escapes what it is given; nothing else goes past the escaping.
    environment.filters["svg"] = lambda drawing: Markup(format_svg(drawing))  # noqa: S704
    kinds = {Tiles: "tiles", Text: "text", Bullets: "bullets", Table: "table", Picture: "picture"}
    environment.filters["kind"] = lambda block: kinds[type(block)]
    style = resources.files("voicelog.exports.report").joinpath("page.css").read_text("utf-8")
    yield from environment.get_template("page.html").generate(
        document=document,
        style=Markup(style),  # noqa: S704 - our own file
    )
