"""Logs as checks see them: from notes as they would be said."""

from __future__ import annotations

from collections.abc import Sequence

from tests.extraction.tables import read_log
from voicelog.checks.volumes import VolumeLog, group_volumes
from voicelog.domain.entry import Entry
from voicelog.extraction.reader import Reader

BEGINNING = "accession 2031-007 | volume one, the green book"


def read_entries(notes: str | Sequence[str], reader: Reader) -> tuple[Entry, ...]:
    """Return the entries that notes give; in one string " | " stands between them."""
    lines = notes.split(" | ") if isinstance(notes, str) else notes
    return tuple(read_log(lines, reader).entries())


def read_volumes(notes: str | Sequence[str], reader: Reader) -> tuple[VolumeLog, ...]:
    """Return the volumes that notes give."""
    return group_volumes(read_entries(notes, reader))
