"""What a report is put together from, whatever it is shown on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voicelog.exports.report.drawing import Drawing


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One number of the first page: the number, what it counts, what to compare it with."""

    value: str
    label: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiles:
    """The numbers of the first page."""

    tiles: tuple[Tile, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bullets:
    """A list."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; the last column of numbers is set to the right."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing under a heading of its own, and the same as a table."""

    title: str
    drawing: Drawing
    table: Table | None = None


Block = Tiles | Text | Bullets | Table | Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and what stands under it.

    Attributes:
        title: the heading.
        blocks: what stands under it; what is large may be made as it is gone through.
    """

    title: str
    blocks: Iterable[Block]


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A report.

    Attributes:
        title: its title.
        subtitle: what it is about, and as of when.
        sections: the first is the summary.
    """

    title: str
    subtitle: str
    sections: tuple[Section, ...]
