"""Typed notes: one on each line of a text file."""

from __future__ import annotations

import codecs
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.domain.utterance import Utterance
from voicelog.errors import UnreadableNotes
from voicelog.session.scribe import Scribe
from voicelog.store.writing import now_text

LONGEST_LINE_BYTES = 20_000
"""No note is longer: at dictation speed (about 15 characters a second, from memory) this
is more than twenty minutes without a pause."""


class ByteStream(Protocol):
    """A file opened for reading bytes, or standard input's ``buffer``."""

    def read1(self, size: int, /) -> bytes:
        """Return the bytes that are there, at most this many; none at the end."""


OnTaken = Callable[[Note, tuple[Entry, ...]], None]
"""Is told of each stored note and the entries it made or changed."""

OnLeftOut = Callable[[UnreadableNotes], None]
"""Is told why a line was left out."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedSource:
    """Where typed notes come from.

    Attributes:
        name: the file's name, for messages.
        stream: its bytes.
        handler: who made the notes, or None.
    """

    name: str
    stream: ByteStream
    handler: str | None = None


def take_typed(
    source: TypedSource, scribe: Scribe, *, on_taken: OnTaken, on_left_out: OnLeftOut
) -> int:
    """Store every line of a text as a note and return how many there were.

    A line that is no text is left out and told; the others are taken all the same.

    Raises:
        UnreadableNotes: there is no line in it, or it can't be read.
        StoreError: the log could not be written; notes stored so far are safe.
    """
    count = 0
    left_out = 0
    for line in iter_typed_lines(source.stream, source=source.name):
        if isinstance(line, UnreadableNotes):
            left_out += 1
            on_left_out(line)
            continue
        utterance = Utterance(text=line.text, recorded_at=now_text(), handler=source.handler)
        on_taken(*scribe.take_down(utterance))
        count += 1
    if count == left_out == 0:
        raise UnreadableNotes(
            f"{source.name} holds no notes; write one on each line.", source=source.name
        )
    return count


def iter_typed_lines(stream: ByteStream, *, source: str) -> Iterator[TypedLine | UnreadableNotes]:
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


def _iter_raw_lines(stream: ByteStream) -> Iterator[bytes]:
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
