"""Keys as a terminal sends them, a foot pedal's among them; no rights beyond the terminal's."""

from __future__ import annotations

import os
import select
import sys
import termios
import threading
import tty
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

_LOOK_S = 0.2
_LONGEST_SEQUENCE = 16

# What terminals send for keys without a character: ECMA-48 control sequences in the forms
# of xterm, of its application mode, and of the Linux console.
_SEQUENCES: Mapping[bytes, str] = {
    **dict.fromkeys((b"\x1b[A", b"\x1bOA"), "up"),
    **dict.fromkeys((b"\x1b[B", b"\x1bOB"), "down"),
    **dict.fromkeys((b"\x1b[C", b"\x1bOC"), "right"),
    **dict.fromkeys((b"\x1b[D", b"\x1bOD"), "left"),
    **dict.fromkeys((b"\x1b[H", b"\x1bOH", b"\x1b[1~"), "home"),
    **dict.fromkeys((b"\x1b[F", b"\x1bOF", b"\x1b[4~"), "end"),
    b"\x1b[5~": "page up",
    b"\x1b[6~": "page down",
    **dict.fromkeys((b"\x1bOP", b"\x1b[11~", b"\x1b[[A"), "f1"),
    **dict.fromkeys((b"\x1bOQ", b"\x1b[12~", b"\x1b[[B"), "f2"),
    **dict.fromkeys((b"\x1bOR", b"\x1b[13~", b"\x1b[[C"), "f3"),
    **dict.fromkeys((b"\x1bOS", b"\x1b[14~", b"\x1b[[D"), "f4"),
    **dict.fromkeys((b"\x1b[15~", b"\x1b[[E"), "f5"),
    b"\x1b[17~": "f6",
    b"\x1b[18~": "f7",
    b"\x1b[19~": "f8",
    b"\x1b[20~": "f9",
    b"\x1b[21~": "f10",
    b"\x1b[23~": "f11",
    b"\x1b[24~": "f12",
    b" ": "space",
    b"\r": "enter",
    b"\n": "enter",
    b"\t": "tab",
    b"\x7f": "backspace",
    b"\x08": "backspace",
}
_LONGEST_KNOWN = max(map(len, _SEQUENCES))


def name_keys(sent: bytes) -> Iterator[str]:
    r"""Yield the names of the keys that sent these bytes; unknown ones are passed over.

    >>> list(name_keys(b"c\x1b[5~ \x1b[99~s"))
    ['c', 'page up', 'space', 's']
    """
    at = 0
    while at < len(sent):
        ends = range(min(len(sent), at + _LONGEST_KNOWN), at, -1)
        end = next((end for end in ends if sent[at:end] in _SEQUENCES), None)
        if end is not None:
            yield _SEQUENCES[sent[at:end]]
            at = end
        elif sent[at] == 0x1B:
            at = _end_of_sequence(sent, at)
        else:
            character, at = _take_character(sent, at)
            if character.isprintable():
                yield character


def _end_of_sequence(sent: bytes, at: int) -> int:
    """Return where a control sequence that we don't know ends (ECMA-48, 5.4)."""
    end = at + 1
    if sent[end : end + 1] in {b"[", b"O"}:
        end += 1
        while end < len(sent) and not 0x40 <= sent[end] <= 0x7E:
            end += 1
        end += 1
    return end


def _take_character(sent: bytes, at: int) -> tuple[str, int]:
    """Return the character at a position in UTF-8 and where the next one begins."""
    end = at + 1
    while end < len(sent) and sent[end] & 0xC0 == 0x80:
        end += 1
    return sent[at:end].decode("utf-8", "replace"), end


@contextmanager
def watching_keys(pressed: Callable[[str], None]) -> Iterator[None]:
    """Tell every key by its name while the block runs; nothing where nobody types.

    The terminal is left as it was found. Ctrl-C keeps its meaning.

    Args:
        pressed: called in a thread of its own.
    """
    if not sys.stdin.isatty():
        yield
        return
    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    done = threading.Event()
    watcher = threading.Thread(
        target=_watch, args=(descriptor, pressed, done), name="keys", daemon=True
    )
    tty.setcbreak(descriptor)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)


def _watch(descriptor: int, pressed: Callable[[str], None], done: threading.Event) -> None:
    while not done.is_set():
        readable, _, _ = select.select([descriptor], [], [], _LOOK_S)
        if not readable:
            continue
        sent = os.read(descriptor, _LONGEST_SEQUENCE)
        if not sent:
            return
        for name in name_keys(sent):
            pressed(name)
