"""The machine-readable part of a guide: from it alone order and placement come back exactly.

It is JSON inside the HTML file: the entry records of the volume (``voicelog reference records``)
in their order, with what is withheld left out. :func:`read_guide` is the other
direction.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any

from voicelog.domain.entry import Entry, Kind, Relation, RelationKind, Side, format_entry_record
from voicelog.errors import UnusableInput
from voicelog.housing.volumes import HousedVolume

FORM = 1
"""The form of the JSON; a later one may add keys, and only a changed meaning raises it."""
ELEMENT_ID = "voicelog-guide"


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where one entry belongs.

    Attributes:
        number: display number in the log.
        relations: ties to other entries, by their ids.
    """

    id: str
    number: int
    kind: Kind
    leaf: str | None
    side: Side | None
    item: int | None
    position: str | None
    quantity: int
    enclosure: str | None
    mark: str | None
    relations: tuple[Relation, ...]


def placement_of(number: int, entry: Entry) -> Placement:
    """Return where an entry belongs."""
    return Placement(
        id=entry.id,
        number=number,
        kind=entry.kind,
        leaf=entry.leaf,
        side=entry.side,
        item=entry.item,
        position=entry.position,
        quantity=entry.quantity,
        enclosure=entry.enclosure,
        mark=entry.mark,
        relations=entry.relations,
    )


def write_machine_part(volume: HousedVolume) -> str:
    """Return the JSON of a guide, safe to stand inside an HTML script element."""
    rows = [*([volume.own] if volume.own is not None else []), *volume.rows]
    rows.sort(key=lambda row: row[0])
    text = json.dumps(
        {
            "guide": FORM,
            "accession": volume.accession,
            "volume": volume.volume,
            "volume_name": volume.name,
            "entries": [format_entry_record(entry, number=number) for number, entry in rows],
        },
        ensure_ascii=False,
        indent=1,
    )
    # "</script" and "<!--" would end or change the element (HTML Standard, 4.12.1.3); line
    # separators end a string for older readers.
    for sign in ("<", ">", "&", "\u2028", "\u2029"):
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def read_guide(html: str, *, source: str = "the guide") -> tuple[Placement, ...]:
    """Return where everything in a volume belongs, in the order of the log, from its guide.

    Args:
        html: the guide.
        source: what to call it when it is none.

    Raises:
        UnusableInput: it is no guide of ours.
    """
    finder = _Finder()
    finder.feed(html)
    finder.close()
    try:
        values = json.loads("".join(finder.found))
        if values["guide"] != FORM:
            raise UnusableInput(
                f"{source} was written by a later voicelog; read it with that.", source=source
            )
        return tuple(_read_placement(record) for record in values["entries"])
    except (ValueError, KeyError, TypeError) as failure:
        raise UnusableInput(
            f"{source} is no rebuild guide, or its machine-readable part is damaged.",
            source=source,
        ) from failure


def _read_placement(record: dict[str, Any]) -> Placement:
    return Placement(
        id=record["id"],
        number=record["entry"],
        kind=Kind(record["kind"]),
        leaf=record["leaf"],
        side=None if record["side"] is None else Side(record["side"]),
        item=record["item"],
        position=record["position"],
        quantity=record["quantity"],
        enclosure=record["enclosure"],
        mark=record["mark"],
        relations=tuple(
            Relation(kind=RelationKind(relation["kind"]), id=relation["id"])
            for relation in record["relations"]
        ),
    )


class _Finder(HTMLParser):
    """Collects the text of the element that holds the JSON."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note where the element begins."""
        self._inside = tag == "script" and dict(attrs).get("id") == ELEMENT_ID

    def handle_endtag(self, tag: str) -> None:
        """Note where it ends."""
        if tag == "script":
            self._inside = False

    def handle_data(self, data: str) -> None:
        """Keep what is inside."""
        if self._inside:
            self.found.append(data)
