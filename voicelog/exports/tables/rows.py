"""What the columns of a table are, and what stands in its cells.

The columns are the keys of the entry record, always all of them and always in the same order,
and last ``version``, by which edits that come back are told from edits of an outdated table.
Several values in one cell are joined with "; "; relations are JSON; true and false are written
so; what is not known is an empty cell.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from voicelog.domain.entry import RECORD_FIELDS, format_entry_record
from voicelog.exports.consignment import Consignment

VERSION = "version"
COLUMNS: tuple[str, ...] = (*RECORD_FIELDS, VERSION)
NUMBERS = frozenset({"entry", "item", "quantity", "leaves", "confidence", VERSION})
"""The columns whose cells hold one number."""
LISTS = frozenset(
    {"item_type", "attachment", "condition", "action", "dimensions", "images", "cautions"}
    | {"doubts", "notes"}
)
"""The columns whose cells may hold several values."""
RELATIONS = "relations"
LIST_JOINT = "; "


def iter_rows(consignment: Consignment) -> Iterator[tuple[Any, ...]]:
    """Yield the values of each row, in the order of the columns."""
    versions = consignment.log.versions()
    for number, entry in consignment.selection:
        record = format_entry_record(entry, number=number)
        yield (*(record[name] for name in RECORD_FIELDS), versions[entry.id])


def format_value(value: Any) -> str:
    """Return a value of the entry record as plain text.

    >>> format_value(["yellowed", "tear"]), format_value(True), format_value(None)
    ('yellowed; tear', 'true', '')
    """
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case [{}, *_]:
            return json.dumps(value, ensure_ascii=False)
        case list():
            return LIST_JOINT.join(str(part) for part in value)
        case _:
            return str(value)
