"""Logs as checks see them: from notes as they would be said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tests.extraction.tables import read_log
from voicelog.checks.volumes import VolumeLog, group_volumes
from voicelog.domain.entry import Entry, Status
from voicelog.extraction.reader import Reader

BEGINNING = "accession 2031-007 | volume one, the green book"
SOUND = (
    "accession twenty thirty one dash zero zero seven",
    "volume one, the green book, post binding, black paper",
    "measures eleven and a quarter by fourteen inches",
    "two leaves",
    "front cover, image 1",
    "inside front cover, blank, image 2",
    "leaf one, a postcard, photo corners, secure, image 3",
    "verso, blank, image 4",
    "leaf two, a ticket, image 5",
    "came off, number on the back, goes in envelope one",
    "verso, blank, image 6",
    "inside back cover, blank, image 7",
    "back cover, image 8",
    "the volume goes in box one",
    "the volume is labelled",
    "box one holds the volume and one envelope",
)
"""A volume with nothing wrong, note by note."""


def read_entries(notes: str | Sequence[str], reader: Reader) -> tuple[Entry, ...]:
    """Return the entries that notes give; in one string " | " stands between them."""
    lines = notes.split(" | ") if isinstance(notes, str) else notes
    return tuple(read_log(lines, reader).entries())


def read_volumes(notes: str | Sequence[str], reader: Reader) -> tuple[VolumeLog, ...]:
    """Return the volumes that notes give."""
    return group_volumes(read_entries(notes, reader))


def confirmed(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Return the entries as a reviewer leaves them, queried ones left as they are."""
    return tuple(
        replace(one, status=Status.CONFIRMED) if one.status is Status.HEARD else one
        for one in entries
    )
