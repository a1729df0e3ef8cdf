"""Typed notes: one on each line of a text file."""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from io import BufferedIOBase

from voicelog.errors import UnreadableNotes

LONGEST_LINE_BYTES = 20_000
"""No note is longer: at dictation speed (about 15 characters a second, from memory) this
is more than twenty minutes without a pause."""

_UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_READ_BYTES = 1 << 16


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedLine:
    """One usable line.

    Attributes:
        number: the line's number in the file, from 1.
        text: the line without surrounding spaces.
    """

    number: int
    text: str


def iter_typed_lines(
    stream: BufferedIOBase, *, source: str
) -> Iterator[TypedLine | UnreadableNotes]:
    """Yield the notes of a text file, and for each line that is none, the reason.

    Blank lines are passed over. Lines end with LF, CRLF or CR; a byte-order mark at the
    beginning is no part of the first note. At most one line is held in memory.

    Args:
        stream: the file, opened for reading bytes.
        source: the file's name, for messages.
    """
    for number, line in enumerate(_iter_raw_lines(stream), start=1):
        if number == 1 and line.startswith(_UTF16_MARKS):
            yield UnreadableNotes(
                f"{source} is written in UTF-16; save it as UTF-8 text, then try again.",
                source=source,
            )
            return
        content = line.removeprefix(codecs.BOM_UTF8) if number == 1 else line
        if (fault := _find_fault(content)) is not None:
            yield UnreadableNotes(
                f"Line {number} of {source} {fault}; it was left out.", source=source
            )
        elif text := content.decode("utf-8").strip():
            yield TypedLine(number=number, text=text)


def _find_fault(line: bytes) -> str | None:
    if len(line) > LONGEST_LINE_BYTES:
        return f"is longer than {LONGEST_LINE_BYTES} bytes and can't be one note"
    if b"\0" in line:
        return "holds NUL characters and is not text"
    try:
        line.decode("utf-8")
    except UnicodeDecodeError as failure:
        return f"is not UTF-8 text (byte {failure.start + 1} of the line does not fit)"
    return None


def _iter_raw_lines(stream: BufferedIOBase) -> Iterator[bytes]:
    """Yield lines without their ends; of a far too long one only the beginning."""
    line = bytearray()
    after_cr = False
    while block := stream.read1(_READ_BYTES):
        for piece in block.splitlines(keepends=True):
            if after_cr and piece == b"\n":
                after_cr = False
                continue
            body = piece.rstrip(b"\r\n")
            room = LONGEST_LINE_BYTES + 1 - len(line)
            line += body[: max(0, room)]
            after_cr = piece.endswith(b"\r")
            if len(body) < len(piece):
                yield bytes(line)
                line.clear()
    if line:
        yield bytes(line)
