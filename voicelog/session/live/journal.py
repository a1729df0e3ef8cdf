"""The journal of a live session: which files, which gaps, what the clocks did.

One JSON object a line, each on the disk before the next thing happens. It lies beside the
files it speaks of, and a person can read it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Any, Self

from voicelog.session.live.growing_wav import Sync, sync_folder

JOURNAL_SUFFIX = ".jsonl"
_PREFIX = "live-"


class Event(StrEnum):
    """What a line of the journal reports."""

    SESSION = "session"
    FILE = "file"
    SEALED = "sealed"
    GAP = "gap"
    FILLED = "filled"
    PAUSED = "paused"
    RESUMED = "resumed"
    CLOCK_SET = "clock set"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a journal.

    Attributes:
        event: what happened.
        at: wall clock, ISO 8601 with zone.
        facts: what else is known about it, by name.
    """

    event: Event
    at: str
    facts: Mapping[str, Any]


class Journal:
    """The journal of one session, being written."""

    def __init__(self, path: Path, descriptor: int, *, sync: Sync) -> None:
        self.path = path
        self._descriptor = descriptor
        self._sync = sync

    @classmethod
    def begin(cls, folder: Path, *, at: datetime, sync: Sync = os.fsync) -> Self:
        """Begin a journal under a name that no other session in the folder has.

        Raises:
            OSError: it can't be written.
        """
        stem = f"{_PREFIX}{at:%Y%m%d-%H%M%S}"
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND | os.O_CLOEXEC
        nth = 1
        while True:
            path = folder / f"{stem if nth == 1 else f'{stem}-{nth}'}{JOURNAL_SUFFIX}"
            try:
                descriptor = os.open(path, flags, 0o600)
            except FileExistsError:
                # A second session in one second, or a clock that was put back.
                nth += 1
                continue
            sync_folder(folder, sync=sync)
            return cls(path, descriptor, sync=sync)

    @property
    def session(self) -> str:
        """The session's name, with which the names of its files begin."""
        return self.path.stem

    def write(self, event: Event, *, at: datetime, **facts: Any) -> None:
        """Write one line and bring it to the disk."""
        line = {"event": event, "at": at.isoformat(timespec="milliseconds"), **facts}
        os.write(self._descriptor, (json.dumps(line, ensure_ascii=False) + "\n").encode())
        self._sync(self._descriptor)

    def close(self) -> None:
        """Close the file."""
        os.close(self._descriptor)


def find_journals(folder: Path) -> tuple[Path, ...]:
    """Return the journals in a log's ``audio/``, in the order of their names."""
    return tuple(sorted(folder.glob(f"{_PREFIX}*{JOURNAL_SUFFIX}")))


def read_journal(path: Path) -> Iterator[Line]:
    """Yield the lines of a journal; one that a crash left half-written is passed over."""
    with path.open(encoding="utf-8", errors="replace") as lines:
        for text in lines:
            try:
                record = json.loads(text)
                event, at = Event(record.pop("event")), str(record.pop("at"))
            except (ValueError, KeyError, AttributeError):
                continue
            yield Line(event=event, at=at, facts=record)
