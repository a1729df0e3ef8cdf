"""One correction for all entries that carry the same wrong value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from voicelog.domain.entry import Entry, Review, Status
from voicelog.errors import ValueRefused
from voicelog.store.entry_log import StoredEntry
from voicelog.store.reviewed_log import ReviewedLog

CARRIED = ("accession", "volume", "volume_name", "leaf", "side")
"""The fields whose values stay until they are changed, and so can be wrong in many rows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """What a correction of a carried value would do, before it is done.

    Attributes:
        field: the field.
        was: the value that was carried.
        now: the value that it should be.
        entries: the entries that would change.
        kept: entries that carry the value too and stay as they are, being confirmed.
    """

    field: str
    was: str
    now: Any
    entries: tuple[StoredEntry, ...]
    kept: tuple[StoredEntry, ...]


def find_alike(log: ReviewedLog, entry: Entry, field: str, now: Any, *, typed: str) -> Alike:
    """Return the entries that carry the value that an entry has, or had before its correction.

    An accession is carried over a whole log, a volume within its accession, and a leaf or side
    within its volume.

    Raises:
        ValueRefused: the field is none that is carried, or nothing was carried in it.
    """
    origin = entry.sources.get(field)
    was = origin.was if isinstance(origin, Review) else getattr(entry, field)
    if field not in CARRIED or was is None:
        raise ValueRefused(
            f"{field.replace('_', ' ')} was not carried over from anywhere; "
            "only accession, volume, leaf and side are.",
            field=field,
            typed=typed,
        )
    found = [
        stored
        for stored in log.iter_carrying(field, was)
        if _shares_scope(stored.entry, entry, field) and getattr(stored.entry, field) != now
    ]
    return Alike(
        field=field,
        was=str(was),
        now=now,
        entries=tuple(one for one in found if one.entry.status is not Status.CONFIRMED),
        kept=tuple(one for one in found if one.entry.status is Status.CONFIRMED),
    )


def _shares_scope(other: Entry, entry: Entry, field: str) -> bool:
    if field == "accession":
        return True
    if other.accession != entry.accession:
        return False
    if field in {"volume", "volume_name"}:
        return True
    if other.volume != entry.volume:
        return False
    return field == "leaf" or other.leaf == entry.leaf
