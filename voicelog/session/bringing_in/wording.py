"""Entries, places and values as a sentence about two benches needs them."""

from __future__ import annotations

from typing import Any

from voicelog.domain.entry import Entry, Relation


def name_of(entry: Entry) -> str:
    """Return what an entry is, in a word or two."""
    return " and ".join(entry.item_type) or str(entry.kind)


def name_place(entry: Entry) -> str:
    """Return where an entry is: "2031-007, volume 1, leaf 14 recto".

    >>> from voicelog.domain.entry import Kind, Side
    >>> name_place(Entry(id="x", kind=Kind.ITEM, accession="2031-007", volume="1", leaf="14",
    ...                  side=Side.RECTO))
    '2031-007, volume 1, leaf 14 recto'
    """
    volume = entry.volume
    parts = [
        entry.accession,
        f"volume {volume}" if volume and volume.isdecimal() else volume,
        _leaf(entry),
    ]
    return ", ".join(part for part in parts if part) or "no place"


def describe(entry: Entry) -> str:
    """Return an entry and its place: "the postcard on leaf 14 recto"."""
    leaf = _leaf(entry)
    return f"the {name_of(entry)}" + (f" on {leaf}" if leaf else "")


def say_value(value: Any) -> str:
    """Return a value as a doubt says it.

    >>> say_value(None), say_value(("yellowed", "tear")), say_value((108.0, 152.4))
    ('nothing', "'yellowed', 'tear'", '108 × 152.4 mm')
    """
    match value:
        case None | () | False:
            return "nothing"
        case True:
            return "yes"
        case (float(), float()):
            return f"{value[0]:g} × {value[1]:g} mm"
        case Relation():
            return f"{value.kind} another item"
        case tuple():
            return ", ".join(say_value(part) for part in value)
        case str():
            return repr(value)
    return str(value)


def _leaf(entry: Entry) -> str:
    if entry.leaf is None:
        return ""
    leaf = f"leaf {entry.leaf}" if entry.leaf[:1].isdecimal() else entry.leaf
    return f"{leaf} {entry.side}" if entry.side else leaf
