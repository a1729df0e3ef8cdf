"""CSV for spreadsheets and catalogues: one row for each entry, after RFC 4180.

The columns are the keys of the entry record, always all of them and always in the same
order. Several values in one cell are joined with "; "; relations are JSON; true and
false are written so; what is not known is an empty cell.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable
from typing import Any, TextIO

from voicelog.domain.entry import RECORD_FIELDS, Entry, format_entry_record
from voicelog.exports.consignment import Consignment
from voicelog.exports.target import Unfinished

# A spreadsheet takes a cell that begins so for a formula and may run it (OWASP, "CSV
# Injection"); the wide forms are what some input methods type instead.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def write_csv(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write the entries as a table."""
    with unfinished.path.open("x", encoding="utf-8", newline="") as stream:
        write_table(consignment.selection, stream)


def write_table(entries: Iterable[tuple[int, Entry]], stream: TextIO) -> None:
    """Write the entries as a table to a stream that leaves line ends alone."""
    writer = csv.writer(stream)
    writer.writerow(RECORD_FIELDS)
    for number, entry in entries:
        record = format_entry_record(entry, number=number)
        writer.writerow([format_cell(record[name]) for name in RECORD_FIELDS])


def format_cell(value: Any) -> str:
    """Return a value of the entry record as the text of one cell.

    A text that a spreadsheet would take for a formula gets an apostrophe before it;
    :func:`parse_text_cell` takes it away again.

    >>> format_cell(["yellowed", "tear"]), format_cell(True), format_cell(None)
    ('yellowed; tear', 'true', '')
    >>> format_cell("=SUM(A1)")
    "'=SUM(A1)"
    """
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case int() | float():
            return str(value)
        case [{}, *_]:
            return json.dumps(value, ensure_ascii=False)
        case list():
            return _guard("; ".join(str(part) for part in value))
        case _:
            return _guard(str(value))


def parse_text_cell(cell: str) -> str:
    """Return the text that a cell stands for.

    >>> parse_text_cell("'=SUM(A1)"), parse_text_cell("'twas")
    ('=SUM(A1)', "'twas")
    """
    return cell[1:] if cell.startswith("'") and _looks_like_formula(cell[1:]) else cell


def _guard(text: str) -> str:
    return f"'{text}" if _looks_like_formula(text) else text


def _looks_like_formula(text: str) -> bool:
    return text.lstrip("'").startswith(_FORMULA_STARTS)
