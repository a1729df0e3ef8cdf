"""Parts of a file, as a media player asks for them (RFC 9110, section 14)."""

from __future__ import annotations

import re
from dataclasses import dataclass

_RANGE = re.compile(r"bytes=(?:(\d{1,18})-(\d{1,18})?|-(\d{1,18}))", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ByteRange:
    """A part of a file, from ``first`` up to, not including, ``end``."""

    first: int
    end: int

    def content_range(self, size: int) -> str:
        """Return the header that says which part this is (RFC 9110, section 14.4)."""
        return f"bytes {self.first}-{self.end - 1}/{size}"


class NoSuchRange(ValueError):
    """The part asked for lies wholly outside the file (status 416)."""

    def __init__(self, size: int) -> None:
        super().__init__(f"nothing of it is in a file of {size} bytes")


def parse_range(header: str | None, size: int) -> ByteRange | None:
    """Return the one part that a Range header asks for, or None when all is to be sent.

    A header in another unit, for several parts, or that makes no sense is passed over, as
    RFC 9110, section 14.2, allows.

    >>> parse_range("bytes=0-499", 10_000), parse_range("bytes=-500", 10_000)
    (ByteRange(first=0, end=500), ByteRange(first=9500, end=10000))
    >>> parse_range("bytes=9500-", 10_000), parse_range("leaves=1-2", 10_000)
    (ByteRange(first=9500, end=10000), None)

    Raises:
        NoSuchRange: nothing of the part is there.
    """
    found = _RANGE.fullmatch(header.strip()) if header else None
    if found is None:
        return None
    first, last, suffix = (None if part is None else int(part) for part in found.groups())
    if first is None:
        assert suffix is not None  # noqa: S101 - the pattern has one or the other
        if suffix == 0 or size == 0:
            raise NoSuchRange(size)
        return ByteRange(first=max(0, size - suffix), end=size)
    if last is not None and last < first:
        return None
    if first >= size:
        raise NoSuchRange(size)
    return ByteRange(first=first, end=size if last is None else min(last + 1, size))
