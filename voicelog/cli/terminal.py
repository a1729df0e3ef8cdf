"""What reaches the terminal: messages, JSON lines, progress, and never a control character."""

from __future__ import annotations

import json
import sys
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

_REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
# Control and format characters (escape sequences, overrides of the text direction) can
# make a terminal lie about what a caption says.
_UNSAFE_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Zl", "Zp"})
# Joiners and the soft hyphen steer nothing, and some scripts can't be written without.
_HARMLESS = frozenset("\u00ad\u200c\u200d")


def safe(text: str) -> str:
    r"""Return the text with everything that could steer a terminal made visible.

    >>> safe("caption \x1b[31mred")
    'caption ␛[31mred'
    """
    return "".join(_safe_character(character) for character in text)


def say(message: str) -> None:
    """Tell the person at the keyboard something, beside the results."""
    click.echo(safe(message), err=True)


def write_json_lines(records: Iterable[Mapping[str, Any]]) -> None:
    """Write records to standard output, one JSON object on each line, always in UTF-8."""
    out = sys.stdout.buffer
    for record in records:
        out.write(format_json_line(record).encode("utf-8"))
    out.flush()


def format_json_line(record: Mapping[str, Any]) -> str:
    """Return a record as one line of JSON without a control character in it."""
    text = json.dumps(record, ensure_ascii=False)
    escaped = (
        f"\\u{ord(character):04x}" if _is_unsafe_in_json(character) else character
        for character in text
    )
    return "".join(escaped) + "\n"


def make_console() -> Console:
    """Return a console for results: standard output, as wide as the terminal."""
    return Console(highlight=False, emoji=False, markup=False, soft_wrap=False)


def make_message_console() -> Console:
    """Return a console for what is said beside the results: standard error."""
    return Console(stderr=True, highlight=False, emoji=False, markup=False)


def make_progress(console: Console) -> Progress:
    """Return a progress bar on a console, silent where that is no terminal."""
    return Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(bar_width=None),
        TaskProgressColumn(),
        TimeElapsedColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )


def _safe_character(character: str) -> str:
    if character in "\n\r\t":
        return " "
    if character in _HARMLESS or unicodedata.category(character) not in _UNSAFE_CATEGORIES:
        return character
    code = ord(character)
    return chr(0x2400 + code) if code < 0x20 else _REPLACEMENT


def _is_unsafe_in_json(character: str) -> bool:
    # json itself escapes what is below a space; DEL and the C1 controls are left to us.
    return "\x7f" <= character <= "\x9f"
