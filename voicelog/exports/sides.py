"""Every side of a volume in the order in which one turns it, logged or not."""

from __future__ import annotations

from voicelog.checks.sequence import both_sides, find_sides
from voicelog.checks.volumes import VolumeLog
from voicelog.domain.place import Place, place_order


def list_sides(volume: VolumeLog) -> tuple[Place, ...]:
    """Return every side that the volume should have, and every other place that its log names.

    The covers and both sides of every leaf are there whether or not anything was said of them;
    inserts, and leaves beyond the number that was said, stand where they belong.
    """
    wanted = dict.fromkeys(find_sides(volume))
    for place in volume.places:
        wanted |= dict.fromkeys(both_sides(place.leaf) if place.has_sides else (place,))
    return tuple(sorted(wanted, key=lambda place: place_order(place.leaf, place.side)))
