"""In which order recordings are read, whichever is heard first."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from voicelog.session.bulk.backlog import Named
from voicelog.store.recording import Recording


class Undated(StrEnum):
    """In which order recordings are read that don't say when they were made."""

    BY_NAME = "by name"
    AS_NAMED = "as named"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOrder:
    """Recordings in the order in which they are read.

    Attributes:
        recordings: the recordings.
        undated: how many of them don't say when they were made; they come last.
        undated_order: how those were put in order.
    """

    recordings: tuple[Named, ...]
    undated: int
    undated_order: Undated


def order_recordings(recordings: Sequence[Named]) -> ReadingOrder:
    """Put recordings in the order in which their notes were said, as far as one can know.

    First what an earlier run had begun to read, so that nothing comes between its notes; then
    by the time at which the recorder says it began; then those that say nothing of it. They go
    by name, with numbers in a name counted as numbers. Where somebody named them in an order
    that is not that of the alphabet, as a shell's pattern gives it, they stay as named.

    Args:
        recordings: as they were named, each once.
    """
    begun = [one for one in recordings if one.recording.heard_to_s > 0]
    fresh = [one for one in recordings if one.recording.heard_to_s == 0]
    dated = sorted(
        (one for one in fresh if one.recording.recorded_at is not None),
        key=lambda one: (_moment(one.recording), _natural(one.name)),
    )
    undated = [one for one in fresh if one.recording.recorded_at is None]
    names = [one.name for one in undated]
    order = Undated.AS_NAMED
    if names == sorted(names) or names == sorted(names, key=str.casefold):
        order = Undated.BY_NAME
        undated.sort(key=lambda one: _natural(one.name))
    return ReadingOrder(
        recordings=(*begun, *dated, *undated), undated=len(undated), undated_order=order
    )


def _moment(recording: Recording) -> float:
    # A clock without a zone is this machine's: what datetime takes it for, too.
    return datetime.fromisoformat(recording.recorded_at or "").timestamp()


def _natural(name: str) -> list[tuple[int, str]]:
    """Return what sorts "REC2" before "REC10"."""
    return [
        (int(part), "") if part.isdecimal() else (-1, part.casefold())
        for part in re.split(r"(\d+)", name)
        if part
    ]
