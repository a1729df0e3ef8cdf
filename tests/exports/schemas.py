"""The published schemas: copies where the licence allows one, else those beside the checkout."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

COPIES = Path(__file__).parents[1] / "reference" / "schemas"
SHIPPED = Path(__file__).parents[2] / "voicelog" / "exports" / "schemas"
SCHEMAS = {
    "ead3": ("ead3.xsd", "ead3/ead3.rng"),
    "ead2002": ("ead2002/ead.xsd", "ead2002/ead.rng"),
    "marcxml": ("MARC21slim.xsd",),
    "mods": ("mods-3-8.xsd",),
    "dc": ("dublincore/simpledc.xsd",),
}


def find_problems(format_name: str, path: Path) -> list[str]:
    """Return what the published schemas of a format say against a file; nothing if it is valid."""
    document = etree.parse(path)
    problems: list[str] = []
    for name in SCHEMAS[format_name]:
        source = etree.parse(find_schema(name))
        schema: etree.RelaxNG | etree.XMLSchema = (
            etree.RelaxNG(source) if name.endswith(".rng") else etree.XMLSchema(source)
        )
        if not schema.validate(document):
            problems += [f"{name}: line {one.line}: {one.message}" for one in schema.error_log]
    return problems


def find_schema(name: str) -> Path:
    """Return the file of a schema; the test is passed over where there is none."""
    beside = [folder / "shared" / "standards" / "schemas" for folder in COPIES.parents]
    found = next(
        (root / name for root in (SHIPPED, COPIES, *beside) if (root / name).is_file()), None
    )
    if found is None:
        pytest.skip(
            f"shared/standards/schemas/{name} is not beside the checkout; "
            "it states no licence, so the repository holds no copy"
        )
    return found
