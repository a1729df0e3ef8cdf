"""A workbook (Office Open XML, ECMA-376) with the same table as the CSV; see ``rows``.

Text is stored as text and marked so, and is never a formula, whatever it begins with; so no
apostrophe need be put before it.
"""

from __future__ import annotations

import io
import re
from datetime import datetime
from typing import TYPE_CHECKING, Any

from voicelog.errors import UsageError
from voicelog.exports.consignment import Consignment
from voicelog.exports.tables.rows import COLUMNS, NUMBERS, format_value, iter_rows
from voicelog.exports.target import Unfinished

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

SHEET = "entries"
# Microsoft, "Excel specifications and limits".
LONGEST_TEXT = 32_767
MOST_ROWS = 1_048_576
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_WIDTHS = {"id": 14, "caption": 40, "remark": 30, "doubts": 30, "mark": 26, "item_type": 22}
_USUAL_WIDTH = 12


def write_workbook(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write the entries as a workbook with one sheet.

    Its parts are made one row at a time, in the system's folder for passing files; packed, they
    are in memory.

    Raises:
        UsageError: there is more than a sheet or a cell can hold.
        OSError: the disk refused.
    """
    packed = io.BytesIO()
    _make_workbook(consignment, packed)
    with unfinished.path.open("xb") as stream:
        stream.write(packed.getbuffer())


def _make_workbook(consignment: Consignment, packed: io.BytesIO) -> None:
    # Only this format needs it.
    from xlsxwriter import Workbook  # noqa: PLC0415
    from xlsxwriter.exceptions import FileCreateError  # noqa: PLC0415

    workbook = Workbook(packed, {"constant_memory": True, "strings_to_formulas": False})
    workbook.set_properties(
        {
            "title": "Entries of a leaf-by-leaf log",
            "company": consignment.repository,
            "created": datetime.fromisoformat(consignment.as_of).replace(tzinfo=None),
        }
    )
    sheet = workbook.add_worksheet(SHEET)
    text = workbook.add_format({"quote_prefix": True, "num_format": "@", "valign": "top"})
    number = workbook.add_format({"valign": "top"})
    heading = workbook.add_format({"bold": True, "bottom": 1})
    sheet.freeze_panes(1, 0)
    for column, name in enumerate(COLUMNS):
        sheet.set_column(column, column, _WIDTHS.get(name, _USUAL_WIDTH))
        sheet.write_string(0, column, name, heading)
    try:
        for row, values in enumerate(iter_rows(consignment), start=1):
            _write_row(sheet, row, values, text=text, number=number)
    finally:
        # Also what is given up must be closed, or its parts stay open.
        try:
            workbook.close()
        except FileCreateError as failure:
            # The library puts its own name on what the disk said.
            raise OSError(*failure.args[0].args) from failure


def unescape(text: str) -> str:
    r"""Return the text that a cell stands for, characters that XML forbids included.

    ECMA-376, Part 1, 22.9.2.19: such a character is written as ``_x`` and four hexadecimal
    digits and ``_``, and so is an underscore that would begin such a sequence by itself.

    >>> unescape("admit_x001B_ one"), unescape("_x005F_x001B_")
    ('admit\x1b one', '_x001B_')
    """
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)


def _write_row(
    sheet: Worksheet, row: int, values: tuple[Any, ...], *, text: Format, number: Format
) -> None:
    if row >= MOST_ROWS:
        raise UsageError(
            f"A sheet holds {MOST_ROWS:,} rows at most; export csv or jsonl, or only what changed "
            "(--changed-since)."
        )
    for column, (name, value) in enumerate(zip(COLUMNS, values, strict=True)):
        if value is None:
            continue
        if name in NUMBERS:
            sheet.write_number(row, column, value, number)
            continue
        said = format_value(value)
        if len(said) > LONGEST_TEXT:
            raise UsageError(
                f"The {name} of entry {values[1]} has {len(said):,} characters, and a cell holds "
                f"{LONGEST_TEXT:,}; export csv or jsonl."
            )
        if said:
            sheet.write_string(row, column, said, text)
