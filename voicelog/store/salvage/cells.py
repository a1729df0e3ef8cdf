"""Rows in the pages of a database: what a page holds, however damaged its neighbours are.

Sections 1.6 and 2.1 of https://www.sqlite.org/fileformat2.html say how.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

from voicelog.store.salvage.page_file import PageFile

Value = None | int | float | str | bytes

_TABLE_LEAF, _TABLE_INSIDE = 0x0D, 0x05
_INDEX_LEAF, _INDEX_INSIDE = 0x0A, 0x02
_INTEGER_BYTES = (0, 1, 2, 3, 4, 6, 8)
_LONGEST_VARINT = 9


class Unreadable(Exception):
    """A cell, or a whole page, is not what the format allows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row as a page holds it.

    Attributes:
        rowid: its number in its table; None in a table without such numbers.
        values: its columns as they are stored.
    """

    rowid: int | None
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What one page of a tree holds.

    Attributes:
        is_of_rowids: whether it is of a table with row numbers; else of one without, or an index.
        is_leaf: whether no further pages hang on it.
        children: the pages that hang on it.
        rows: the rows that could be read.
        broken: how many could not.
        overflow: the further pages on which long rows go on.
    """

    is_of_rowids: bool
    is_leaf: bool
    children: tuple[int, ...]
    rows: tuple[Row, ...]
    broken: int
    overflow: tuple[int, ...]


def read_page(file: PageFile, number: int) -> Page:
    """Return what a page holds.

    Raises:
        Unreadable: it is no page of a tree, or can't be read at all.
    """
    content = file.read(number)
    if content is None:
        raise Unreadable
    begin = 100 if number == 1 else 0
    kind = content[begin]
    if kind not in {_TABLE_LEAF, _TABLE_INSIDE, _INDEX_LEAF, _INDEX_INSIDE}:
        raise Unreadable
    is_leaf = kind in {_TABLE_LEAF, _INDEX_LEAF}
    count = int.from_bytes(content[begin + 3 : begin + 5])
    pointers = begin + (8 if is_leaf else 12)
    if pointers + 2 * count > file.usable_bytes:
        raise Unreadable
    children: list[int] = []
    rows: list[Row] = []
    overflow: list[int] = []
    broken = 0
    for at in struct.unpack_from(f">{count}H", content, pointers):
        if not pointers + 2 * count <= at < file.usable_bytes:
            broken += 1
            continue
        if not is_leaf:
            children.append(int.from_bytes(content[at : at + 4]))
        if kind == _TABLE_INSIDE:
            continue
        try:
            rows.append(_read_cell(file, content, at + (0 if is_leaf else 4), kind, overflow))
        except (Unreadable, ValueError):
            broken += 1
    if not is_leaf:
        children.append(int.from_bytes(content[begin + 8 : begin + 12]))
    return Page(
        is_of_rowids=kind in {_TABLE_LEAF, _TABLE_INSIDE},
        is_leaf=is_leaf,
        children=tuple(children),
        rows=tuple(rows),
        broken=broken,
        overflow=tuple(overflow),
    )


def _read_cell(file: PageFile, content: bytes, at: int, kind: int, overflow: list[int]) -> Row:
    length, at = _read_varint(content, at)
    rowid = None
    if kind == _TABLE_LEAF:
        unsigned, at = _read_varint(content, at)
        rowid = unsigned - 2**64 if unsigned >= 2**63 else unsigned
    local = _local_bytes(length, usable=file.usable_bytes, is_of_rowids=kind == _TABLE_LEAF)
    payload = content[at : at + local]
    if len(payload) != local or at + local > file.usable_bytes:
        raise Unreadable
    if local < length:
        first = int.from_bytes(content[at + local : at + local + 4])
        pages, rest = _read_overflow(file, first, length - local)
        overflow += pages
        payload += rest
    return Row(rowid=rowid, values=tuple(_read_record(payload)))


def _local_bytes(length: int, *, usable: int, is_of_rowids: bool) -> int:
    """Return how much of a row lies in its own page (section 1.6)."""
    most = usable - 35 if is_of_rowids else (usable - 12) * 64 // 255 - 23
    if length <= most:
        return length
    least = (usable - 12) * 32 // 255 - 23
    local = least + (length - least) % (usable - 4)
    return local if local <= most else least


def _read_overflow(file: PageFile, number: int, length: int) -> tuple[list[int], bytes]:
    pages: list[int] = []
    parts: list[bytes] = []
    if length > file.page_count * file.usable_bytes:
        raise Unreadable
    while length > 0:
        page = file.read(number)
        if page is None or number in pages:
            raise Unreadable
        pages.append(number)
        part = page[4 : min(file.usable_bytes, 4 + length)]
        parts.append(part)
        length -= len(part)
        number = int.from_bytes(page[:4])
    if number:
        raise Unreadable  # the chain goes on, so some page of it is not the one it was
    return pages, b"".join(parts)


def _read_record(payload: bytes) -> Iterator[Value]:
    header, at = _read_varint(payload, 0)
    if not at <= header <= len(payload):
        raise Unreadable
    body = header
    while at < header:
        kind, at = _read_varint(payload, at)
        size = _size_of(kind)
        part = payload[body : body + size]
        if at > header or len(part) != size:
            raise Unreadable
        yield _read_value(kind, part)
        body += size
    if body != len(payload):
        raise Unreadable


def _size_of(kind: int) -> int:
    if kind < len(_INTEGER_BYTES):
        return _INTEGER_BYTES[kind]
    if kind == 7:
        return 8
    if kind in {8, 9}:
        return 0
    if kind >= 12:
        return (kind - 12) // 2
    raise Unreadable  # 10 and 11 are kept for SQLite's own use


def _read_value(kind: int, part: bytes) -> Value:
    if kind == 0:
        return None
    if kind < len(_INTEGER_BYTES):
        return int.from_bytes(part, signed=True)
    if kind == 7:
        return float(struct.unpack(">d", part)[0])
    if kind in {8, 9}:
        return kind - 8
    return part if kind % 2 == 0 else part.decode("utf-8")


def _read_varint(content: bytes, at: int) -> tuple[int, int]:
    """Return a number of one to nine bytes, and where it ends (section 1.6)."""
    value = 0
    for nth in range(_LONGEST_VARINT):
        if at >= len(content):
            raise Unreadable
        byte = content[at]
        at += 1
        if nth == _LONGEST_VARINT - 1:
            return value << 8 | byte, at
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at
    raise Unreadable
