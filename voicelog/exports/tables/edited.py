"""Tables that come back: a CSV or workbook that was exported, edited, and saved by a spreadsheet.

A spreadsheet may have changed how the table is written: another delimiter, a byte order mark,
numbers for text, TRUE for true. What the cells say is taken; how they say it is not.
"""

from __future__ import annotations

import csv
import io
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from voicelog.errors import UnusableInput
from voicelog.exports.tables.csv_table import parse_text_cell
from voicelog.exports.tables.rows import COLUMNS, LIST_JOINT, LISTS, NUMBERS, VERSION, format_value
from voicelog.exports.tables.workbook import unescape

_DELIMITERS = (",", ";", "\t")
_NEEDED = ("id", VERSION)
_WORKBOOK_START = b"PK"  # a workbook is a ZIP file
_HARMLESS_BYTES = 50_000_000
_MOST_TIMES_LONGER = 100
_BEGINNING_BYTES = 65_536


@dataclass(frozen=True, slots=True, kw_only=True)
class EditedRow:
    """One row of a table that came back.

    Attributes:
        line: its number in the table, the header being 1.
        cells: the text of each cell, by column.
    """

    line: int
    cells: Mapping[str, str]


def read_edited(path: Path) -> tuple[EditedRow, ...]:
    """Return the rows of a CSV or workbook; empty ones are passed over.

    Raises:
        UnusableInput: it can't be read, or it is no table of entries.
    """
    try:
        content = path.read_bytes()
    except OSError as failure:
        reason = (failure.strerror or str(failure)).lower()
        raise UnusableInput(
            f"{path} can't be read ({reason}); name the table that you edited.", source=str(path)
        ) from failure
    table = (
        _read_workbook(path) if content.startswith(_WORKBOOK_START) else _read_csv(path, content)
    )
    header, *rows = table or [()]
    names = [str(name).strip() for name in header]
    if missing := [name for name in _NEEDED if name not in names]:
        raise UnusableInput(
            f"{path} has no column {' or '.join(missing)}; it must be a table that voicelog "
            "exported as csv or xlsx, with those columns as they were.",
            source=str(path),
        )
    if unknown := [name for name in names if name and name not in COLUMNS]:
        raise UnusableInput(
            f"{path} has a column {unknown[0]!r} that no entry has; remove it or correct its name.",
            source=str(path),
        )
    return tuple(
        EditedRow(line=line, cells=dict(zip(names, cells, strict=False)))
        for line, cells in enumerate(rows, start=2)
        if any(cells)
    )


def is_same(column: str, cell: str, value: Any) -> bool:
    """Whether a cell says what a value of the entry record would be exported as.

    >>> is_same("blank", "TRUE", True), is_same("quantity", "3.0", 3)
    (True, True)
    >>> is_same("condition", "yellowed;tear", ["yellowed", "tear"])
    True
    """
    text = format_value(value)
    if _plain(cell) == _plain(text):
        return True
    if column in NUMBERS:
        return _number(cell) is not None and _number(cell) == _number(text)
    if column in LISTS:
        here, there = _parts(cell), _parts(text)
        return len(here) == len(there) and all(
            one == other or (_number(one) is not None and _number(one) == _number(other))
            for one, other in zip(here, there, strict=True)
        )
    return column == "blank" and cell.strip().lower() == text


def _read_csv(path: Path, content: bytes) -> list[tuple[str, ...]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        raise UnusableInput(
            f"{path} is not UTF-8 text; save it as CSV in UTF-8, or as a workbook.",
            source=str(path),
        ) from failure
    first, _, _ = text.partition("\n")
    delimiter = max(_DELIMITERS, key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as failure:
        raise UnusableInput(
            f"{path} is no CSV table ({failure}); save it from the spreadsheet again.",
            source=str(path),
        ) from failure
    return [tuple(parse_text_cell(cell) for cell in row) for row in rows]


def _read_workbook(path: Path) -> list[tuple[str, ...]]:
    _refuse_what_would_fill_memory(path)
    # Only workbooks need it, and it takes a while to load.
    from openpyxl import load_workbook  # noqa: PLC0415

    try:
        # Foreign files can break it in many ways, and none of them is the user's business.
        book = load_workbook(path, read_only=True, data_only=True)
        rows: Iterable[tuple[Any, ...]] = list(book.worksheets[0].iter_rows(values_only=True))
    except Exception as failure:
        raise UnusableInput(
            f"{path} is no workbook that can be read ({type(failure).__name__}); save it from the "
            "spreadsheet again, as .xlsx or as CSV in UTF-8.",
            source=str(path),
        ) from failure
    return [tuple(_say_cell(cell) for cell in row) for row in rows]


def _refuse_what_would_fill_memory(path: Path) -> None:
    """Refuse a workbook that unpacks, or whose texts unfold, to far more than it is.

    A workbook has no document type (ECMA-376, Part 2, 7.2.5: none is allowed), which is where
    XML declares texts that stand for others.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
            unpacked = sum(part.file_size for part in parts)
            is_bomb = unpacked > max(_HARMLESS_BYTES, _MOST_TIMES_LONGER * path.stat().st_size)
            has_entities = any(_begins_with_doctype(archive, part) for part in parts)
    # What a damaged file can raise; a name in it that is no text is a ValueError.
    except (
        zipfile.BadZipFile,
        zlib.error,
        NotImplementedError,
        RuntimeError,
        ValueError,
        EOFError,
        OSError,
    ):
        return  # What it is instead, the library says.
    if is_bomb or has_entities:
        raise UnusableInput(
            f"{path} is no workbook that a spreadsheet would save: reading it could fill the "
            "memory. Have it saved from the spreadsheet again.",
            source=str(path),
        )


def _begins_with_doctype(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> bool:
    with archive.open(part) as stream:
        beginning = stream.read(_BEGINNING_BYTES)
    # Also in UTF-16, which has a NUL beside each of these letters.
    return b"<!DOCTYPE" in beginning.replace(b"\0", b"").upper()


def _say_cell(cell: Any) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "true" if cell else "false"
        case datetime() if cell.time() == datetime.min.time():
            return cell.date().isoformat()
        case date():
            return cell.isoformat()
        case float() if cell.is_integer():
            return str(int(cell))
        case str():
            return unescape(cell)
        case _:
            return str(cell)


def _plain(text: str) -> str:
    # Spreadsheets end a line within a cell in their own way.
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(LIST_JOINT.strip()) if part.strip()]


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
