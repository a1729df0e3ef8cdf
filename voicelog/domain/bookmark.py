"""Where the reading of a log has come to, so that it can go on from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from voicelog.domain.context import Context
from voicelog.domain.entry import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What one note changed, for "strike that" to put back.

    Attributes:
        note: the note's number.
        context: the running context before it.
        before: the entries it changed as they were before it; None for those it made.
    """

    note: int
    context: Context
    before: Mapping[str, Entry | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bookmark:
    """What reading goes on from, beside the entries themselves.

    Attributes:
        context: where the handler is.
        frames: what the latest notes changed that are not struck, the earliest first.
    """

    context: Context
    frames: tuple[Frame, ...]
