"""CSV for spreadsheets and catalogues, after RFC 4180; see ``rows`` for the columns."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from typing import Any, TextIO

from voicelog.exports.consignment import Consignment
from voicelog.exports.tables.rows import COLUMNS, format_value, iter_rows
from voicelog.exports.target import Unfinished

# A spreadsheet takes a cell that begins so for a formula and may run it (OWASP, "CSV
# Injection"); the wide forms are what some input methods type instead.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def write_csv(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write the entries as a table."""
    with unfinished.path.open("x", encoding="utf-8", newline="") as stream:
        write_table(iter_rows(consignment), stream)


def write_table(rows: Iterable[tuple[Any, ...]], stream: TextIO) -> None:
    """Write rows of values, and the column names before them, to a stream.

    Args:
        rows: values in the order of the columns.
        stream: leaves line ends alone.
    """
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([format_cell(value) for value in row])


def format_cell(value: Any) -> str:
    """Return a value as the text of one cell.

    A text that a spreadsheet would take for a formula gets an apostrophe before it;
    :func:`parse_text_cell` takes it away again. A number is no text.

    >>> format_cell("=SUM(A1)"), format_cell(-1)
    ("'=SUM(A1)", '-1')
    """
    text = format_value(value)
    is_text = isinstance(value, str | list)
    return f"'{text}" if is_text and _looks_like_formula(text) else text


def parse_text_cell(cell: str) -> str:
    """Return the text that a cell stands for.

    >>> parse_text_cell("'=SUM(A1)"), parse_text_cell("'twas")
    ('=SUM(A1)', "'twas")
    """
    return cell[1:] if cell.startswith("'") and _looks_like_formula(cell[1:]) else cell


def _looks_like_formula(text: str) -> bool:
    return text.lstrip("'").startswith(_FORMULA_STARTS)
