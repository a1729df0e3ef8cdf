"""Holding a finished XML file against its published schema before it leaves."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from voicelog.errors import ExportInvalid


def check_valid(path: Path, schema_name: str) -> None:
    """Make sure that a file is valid; only a part of it is in memory at a time.

    Args:
        path: the file.
        schema_name: a file in ``voicelog/exports/schemas``, where each is described.

    Raises:
        ExportInvalid: it is not; the sentence names the line.
    """
    from lxml import etree  # noqa: PLC0415 - only XML formats need it

    with resources.as_file(resources.files("voicelog.exports") / "schemas") as folder:
        schema = etree.XMLSchema(etree.parse(folder / schema_name))
    try:
        for _, element in etree.iterparse(path, events=("end",), schema=schema, huge_tree=True):
            element.clear(keep_tail=True)
            parent = element.getparent()
            if parent is not None:
                del parent[: parent.index(element)]
    except etree.XMLSyntaxError as failure:
        raise ExportInvalid(
            f"The export would not be valid by {schema_name} (line {failure.lineno}: "
            f"{failure.msg}), so it was not written. The crosswalk may hold a text that has no "
            "place there; if not, this is a fault in voicelog, please report it."
        ) from failure
