"""The volumes beside a work list: all of them, or those around the one that is shown."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.store.selection import VolumeKey
from voicelog.store.worklist import VolumeSummary, WorkListLog

MOST_LISTED = 20
"""Volumes that a person finds one among; of more, those around the present one are listed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeList:
    """Volumes in display order.

    Attributes:
        listed: those that are listed.
        before: the volume in whose list earlier ones are found, or None.
        after: the volume in whose list later ones are found, or None.
        told: which of how many they are; empty where these are all.
    """

    listed: tuple[VolumeSummary, ...]
    before: VolumeKey | None = None
    after: VolumeKey | None = None
    told: str = ""


def list_volumes(log: WorkListLog, shown: VolumeKey | None) -> VolumeList:
    """Return the volumes around one, or from the first."""
    total = log.count_volumes()
    if total <= MOST_LISTED:
        return VolumeList(listed=log.volumes())
    middle = 0 if shown is None else log.count_volumes_before(shown)
    first = min(max(middle - MOST_LISTED // 2, 0), total - MOST_LISTED)
    last = first + MOST_LISTED
    return VolumeList(
        listed=log.volumes(first=first, most=MOST_LISTED),
        before=None if first == 0 else _key_at(log, max(first - MOST_LISTED // 2, 0)),
        after=None if last == total else _key_at(log, min(last + MOST_LISTED // 2, total - 1)),
        told=f"{first + 1:,} to {last:,} of {total:,}",
    )


def _key_at(log: WorkListLog, place: int) -> VolumeKey:
    (volume,) = log.volumes(first=place, most=1)
    return volume.key
