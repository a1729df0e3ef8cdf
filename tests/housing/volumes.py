"""Volumes and stock made up for tests."""

from __future__ import annotations

from typing import Any

from voicelog.domain.entry import Entry, Kind, Side
from voicelog.housing.stock import Box, Envelope, Folder, Sheet
from voicelog.housing.volumes import HousedVolume, Numbered, group_by_volume

SIDES = {"r": Side.RECTO, "v": Side.VERSO}


def entry(number: int, place: str | None, **fields: Any) -> Numbered:
    """Return an entry of the green book: "14r" is leaf 14 recto, "back cover" itself."""
    leaf: str | None = place
    side = None
    if place is not None and place[-1:] in SIDES and place[:1].isdigit():
        leaf, side = place[:-1], SIDES[place[-1]]
    base: dict[str, Any] = {
        "id": f"e-{number}",
        "kind": Kind.VOLUME if place is None else Kind.LEAF,
        "accession": "2031-007",
        "volume": "1",
        "volume_name": "the green book",
        "leaf": leaf,
        "side": side,
    }
    return number, Entry(**{**base, **fields})


def item(number: int, place: str, *types: str, **fields: Any) -> Numbered:
    """Return an item of the green book."""
    return entry(number, place, **{"kind": Kind.ITEM, "item": 1, "item_type": types, **fields})


def volume(*rows: Numbered, **fields: Any) -> HousedVolume:
    """Return the green book with these rows; the fields are those of the volume's entry."""
    (made,) = group_by_volume([entry(900, None, **fields), *rows])
    return made


def box(length: float, width: float, depth: float, name: str = "") -> Box:
    """Return a box of this inside."""
    return Box(
        name=name or f"box {length:g} x {width:g} x {depth:g}",
        weight_g=500,
        length_mm=length,
        width_mm=width,
        depth_mm=depth,
    )


def envelope(height: float, width: float, name: str = "") -> Envelope:
    """Return an envelope of this inside."""
    return Envelope(
        name=name or f"envelope {height:g} x {width:g}",
        weight_g=5,
        height_mm=height,
        width_mm=width,
        caliper_mm=0.1,
    )


def folder(height: float, width: float, capacity: float, name: str = "") -> Folder:
    """Return a folder of this inside."""
    return Folder(
        name=name or f"folder {height:g} x {width:g}, {capacity:g}",
        weight_g=20,
        height_mm=height,
        width_mm=width,
        caliper_mm=0.25,
        capacity_mm=capacity,
    )


def sheet(length: float, width: float, *, buffered: bool = True, grain: str | None = None) -> Sheet:
    """Return a sheet of this size."""
    return Sheet(
        name=f"{'buffered' if buffered else 'unbuffered'} {length:g} x {width:g} {grain or ''}",
        weight_g=10,
        length_mm=length,
        width_mm=width,
        caliper_mm=0.1,
        buffered=buffered,
        grain=grain,
    )
