"""Typed notes: what is a line, and what is none."""

from __future__ import annotations

import io
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.errors import UnreadableNotes
from voicelog.session.typed import LONGEST_LINE_BYTES, TypedLine, iter_typed_lines


def lines(data: bytes) -> list[tuple[int, str]]:
    return [
        (line.number, line.text)
        for line in iter_typed_lines(io.BytesIO(data), source="notes.txt")
        if isinstance(line, TypedLine)
    ]


def faults(data: bytes) -> list[str]:
    return [
        str(line)
        for line in iter_typed_lines(io.BytesIO(data), source="notes.txt")
        if isinstance(line, UnreadableNotes)
    ]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"leaf one\nverso\n", [(1, "leaf one"), (2, "verso")]),
        (b"leaf one\r\nverso\r\n", [(1, "leaf one"), (2, "verso")]),
        (b"leaf one\rverso\r", [(1, "leaf one"), (2, "verso")]),
        (b"leaf one\n\n  \t \nverso", [(1, "leaf one"), (4, "verso")]),
        (b"\xef\xbb\xbfleaf one\n", [(1, "leaf one")]),
        (b"\xef\xbb\xbf\n\xef\xbb\xbfx\n", [(2, "\ufeffx")]),
        (b"  caf\xc3\xa9 menu  \n", [(1, "café menu")]),
        (b"one\xc2\x85two\x0bthree\n", [(1, "one\x85two\x0bthree")]),
        (b"", []),
        (b"\n\n", []),
    ],
)
def test_lines_are_what_an_editor_shows(data: bytes, expected: list[tuple[int, str]]) -> None:
    """Blank lines, line ends of three systems, and a byte-order mark make no difference."""
    assert lines(data) == expected
    assert faults(data) == []


@pytest.mark.parametrize(
    ("bad", "reason"),
    [
        (b"leaf \x00 one", "Line 2 of notes.txt holds NUL characters"),
        (b"leaf \xff one", r"Line 2 of notes.txt is not UTF-8 text (byte 6 of the line"),
        (b"x" * 1_000_000, f"Line 2 of notes.txt is longer than {LONGEST_LINE_BYTES} bytes"),
    ],
)
def test_a_bad_line_is_named_and_the_others_are_taken(bad: bytes, reason: str) -> None:
    """One sentence for the bad line; nothing of the good ones is lost."""
    data = b"leaf one\n" + bad + b"\nverso\n"
    assert lines(data) == [(1, "leaf one"), (3, "verso")]
    [fault] = faults(data)
    assert fault.startswith(reason)
    assert fault.endswith("it was left out.")


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_another_encoding_is_recognised(encoding: str) -> None:
    """UTF-16, as some editors save it, gets one sentence rather than one for each line."""
    data = "\ufeffleaf one\nverso\n".encode(encoding)
    assert lines(data) == []
    assert faults(data) == [
        "notes.txt is written in UTF-16; save it as UTF-8 text, then try again."
    ]


def test_a_huge_line_does_not_fill_the_memory() -> None:
    """Fifty megabytes without a line end are passed over in small pieces."""

    class Endless(io.RawIOBase):
        left = 50_000_000

        def readable(self) -> bool:
            return True

        def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
            size = min(len(buffer), self.left)
            buffer[:size] = b"x" * size
            self.left -= size
            return size

    tracemalloc.start()
    result = list(iter_typed_lines(io.BufferedReader(Endless()), source="notes.txt"))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(result) == 1
    assert isinstance(result[0], UnreadableNotes)
    assert peak < 5_000_000


@given(st.lists(st.text(st.characters(blacklist_categories=["Cs", "Cc"]), max_size=30)))
def test_no_line_is_lost_however_the_bytes_arrive(texts: list[str]) -> None:
    """Reading one byte at a time finds the same lines as reading all at once."""

    class Drop(io.BytesIO):
        def read1(self, size: int | None = -1, /) -> bytes:  # noqa: ARG002 - a slow pipe
            return super().read(1)

    data = "\r\n".join(texts).encode()
    slow = [
        (line.number, line.text)
        for line in iter_typed_lines(Drop(data), source="notes.txt")
        if isinstance(line, TypedLine)
    ]
    assert slow == lines(data)
