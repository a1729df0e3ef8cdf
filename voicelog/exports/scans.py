"""Scans that may leave the house: none that shows what is restricted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from voicelog.checks.scans.scan_set import Scan, ScanSet
from voicelog.checks.volumes import VolumeKey, key_of
from voicelog.domain.entry import Access, Entry, Status
from voicelog.domain.place import Place


def withhold_restricted(scans: ScanSet, entries: Iterable[Entry]) -> ScanSet:
    """Return the scans without those of a side on which something is restricted.

    A picture shows everything on its side, whatever entry is left out. Where the volume
    itself is restricted, none of its scans leaves; nor does one that nobody knows the
    place of.

    Args:
        scans: the scans of a log.
        entries: all entries of the log.
    """
    restricted = [
        one for one in entries if one.access is Access.RESTRICTED and one.status is not Status.VOID
    ]
    whole = {key_of(one) for one in restricted if one.leaf is None}
    places = {
        (key_of(one), Place(leaf=one.leaf, side=one.side))
        for one in restricted
        if one.leaf is not None
    }

    def may_leave(scan: Scan) -> bool:
        if scan.volume is None or not scan.places or scan.volume in whole:
            return False
        return not any(_is_touched(scan.volume, place, places) for place in scan.places)

    return replace(scans, scans=tuple(filter(may_leave, scans.scans)))


def _is_touched(volume: VolumeKey, place: Place, restricted: set[tuple[VolumeKey, Place]]) -> bool:
    # What is said of a leaf without a side may lie on either.
    either = {Place(leaf=place.leaf), place}
    if place.side is None:
        return any(of == volume and one.leaf == place.leaf for of, one in restricted)
    return any((volume, one) in restricted for one in either)
