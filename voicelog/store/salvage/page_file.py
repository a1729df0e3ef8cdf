"""The pages of a database file, as the last committed change left them, damaged or not.

The format is published: https://www.sqlite.org/fileformat2.html (sections 1.3, 1.5 and 4).
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

_MAGIC = b"SQLite format 3\x00"
_USUAL_PAGE_BYTES = 4096
_PAGE_SIZES = frozenset(2**power for power in range(9, 17))
_WAL_HEADER = struct.Struct(">8I")
_FRAME_HEADER = struct.Struct(">6I")
_WAL_MAGIC = 0x377F0682  # the lowest bit says whether checksums are big-endian


class PageFile:
    """A database file and the write-ahead log beside it, read page by page.

    Nothing that is damaged raises an error: a page that can't be read is None.

    Attributes:
        page_bytes: the size of a page.
        usable_bytes: how much of it holds content.
        page_count: how many pages there are.
    """

    def __init__(self, path: Path) -> None:
        self._file = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
        size = os.fstat(self._file).st_size
        header = os.pread(self._file, 100, 0)
        self.page_bytes, reserved = _read_sizes(header)
        self.usable_bytes = self.page_bytes - reserved
        self._newer, committed = _read_wal(
            path.with_name(f"{path.name}-wal"), page_bytes=self.page_bytes
        )
        self.page_count = max(-(-size // self.page_bytes), committed)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        os.close(self._file)

    def read(self, number: int) -> bytes | None:
        """Return a page by its number, from 1; None where it isn't there or can't be read."""
        if not 1 <= number <= self.page_count:
            return None
        if number in self._newer:
            return self._newer[number]
        try:
            page = os.pread(self._file, self.page_bytes, (number - 1) * self.page_bytes)
        except OSError:
            return None
        return page if len(page) == self.page_bytes else None

    def iter_free(self) -> Iterator[int]:
        """Yield the numbers of the pages that hold nothing, as far as the list can be followed."""
        first = self.read(1)
        if first is None or not first.startswith(_MAGIC):
            return
        trunk = int.from_bytes(first[32:36])
        seen: set[int] = set()
        while trunk and trunk not in seen:
            seen.add(trunk)
            page = self.read(trunk)
            if page is None:
                return
            yield trunk
            following, count = struct.unpack_from(">2I", page)
            count = min(count, self.usable_bytes // 4 - 2)
            yield from struct.unpack_from(f">{count}I", page, 8)
            trunk = following


def _read_sizes(header: bytes) -> tuple[int, int]:
    """Return the size of a page, and how much of its end is reserved for others."""
    if not header.startswith(_MAGIC):
        return _USUAL_PAGE_BYTES, 0
    size = int.from_bytes(header[16:18])
    size = 65_536 if size == 1 else size
    return (size, header[20]) if size in _PAGE_SIZES else (_USUAL_PAGE_BYTES, 0)


def _read_wal(path: Path, *, page_bytes: int) -> tuple[Mapping[int, bytes], int]:
    """Return the pages that were committed to a write-ahead log, and how many there are in all.

    Whatever comes behind the last commit, or behind a frame whose checksum is wrong, does
    not count, as SQLite would have it.
    """
    try:
        content = path.read_bytes()
    except OSError:
        return {}, 0
    if len(content) < _WAL_HEADER.size:
        return {}, 0
    magic, _, size, _, *salt, sum_1, sum_2 = _WAL_HEADER.unpack_from(content)
    if magic & ~1 != _WAL_MAGIC or size != page_bytes:
        return {}, 0
    order = ">" if magic & 1 else "<"
    checksum = _add_up(order, content[:24], (0, 0))
    if checksum != (sum_1, sum_2):
        return {}, 0
    committed: dict[int, bytes] = {}
    waiting: dict[int, bytes] = {}
    count = 0
    at = _WAL_HEADER.size
    while at + _FRAME_HEADER.size + page_bytes <= len(content):
        number, pages, *frame_salt, sum_1, sum_2 = _FRAME_HEADER.unpack_from(content, at)
        page = content[at + _FRAME_HEADER.size : at + _FRAME_HEADER.size + page_bytes]
        checksum = _add_up(order, content[at : at + 8], checksum)
        checksum = _add_up(order, page, checksum)
        if frame_salt != salt or checksum != (sum_1, sum_2):
            break
        waiting[number] = page
        if pages:
            committed |= waiting
            waiting = {}
            count = pages
        at += _FRAME_HEADER.size + page_bytes
    return committed, count


def _add_up(order: str, content: bytes, before: tuple[int, int]) -> tuple[int, int]:
    """Return the checksum of section 4.2 of the file format."""
    first, second = before
    words = struct.unpack(f"{order}{len(content) // 4}I", content)
    for even, odd in zip(words[::2], words[1::2], strict=True):
        first = (first + even + second) & 0xFFFFFFFF
        second = (second + odd + first) & 0xFFFFFFFF
    return first, second
