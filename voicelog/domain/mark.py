"""The mark written in pencil on a loose item and on its enclosure."""

from __future__ import annotations

from voicelog.domain.entry import Entry, Side

_SIDE_LETTERS = {Side.RECTO: "r", Side.VERSO: "v", None: ""}


def format_mark(entry: Entry) -> str | None:
    """Return the mark for an item: accession, volume, leaf with side, order on the side.

    None where the accession number or the place isn't known yet.

    >>> from voicelog.domain.entry import Kind
    >>> format_mark(Entry(id="x", kind=Kind.ITEM, accession="2031-007", volume="1",
    ...                   leaf="14", side=Side.RECTO, item=2))
    '2031-007 vol. 1, 14r, 2'
    """
    if entry.accession is None or entry.leaf is None or entry.item is None:
        return None
    volume = f" vol. {entry.volume}" if entry.volume is not None else ""
    return f"{entry.accession}{volume}, {entry.leaf}{_SIDE_LETTERS[entry.side]}, {entry.item}"
