"""A volume view by view, as one opens it: covers, openings, what lay between leaves."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from voicelog.domain.entry import Entry, Kind
from voicelog.domain.place import BACK_COVER, FRONT_COVER, POCKET, SPINE, Place
from voicelog.housing.openings import Opening, find_openings, format_place
from voicelog.housing.volumes import HousedVolume, Numbered, Whereabouts, whereabouts_of

_LAID_IN = "laid in"
Thumbnail = bytes
"""A small JPEG of a page."""
FindThumbnail = Callable[[Place], Thumbnail | None]
"""What gives the picture of a place, or None where there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageView:
    """One page (or cover) of the guide.

    Attributes:
        place: where it is.
        rows: its entries, in display order.
        thumbnail: a picture of it, or None.
    """

    place: Place
    rows: tuple[Numbered, ...]
    thumbnail: Thumbnail | None

    @property
    def title(self) -> str:
        """The page as a heading names it."""
        return format_place(self.place)

    @property
    def items(self) -> tuple[Numbered, ...]:
        """The entries of its items."""
        return tuple(row for row in self.rows if row[1].kind is Kind.ITEM)

    @property
    def is_blank(self) -> bool:
        """Whether it was said to be blank and nothing says otherwise."""
        return any(entry.blank for _, entry in self.rows) and not self.items

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing on it to draw."""
        return self.thumbnail is None and all(
            entry.kind is not Kind.ITEM and not entry.condition and entry.remark is None
            for _, entry in self.rows
        )

    @property
    def summary(self) -> str:
        """What a page without items is, in a word."""
        if self.is_blank:
            return "blank"
        return "no items" if self.rows else "nothing said"


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What one sees at once: one page or two facing ones, and what lay between them.

    Attributes:
        pages: the pages, left before right.
        inserts: entries of what was found loose between the two leaves.
    """

    pages: tuple[PageView, ...]
    inserts: tuple[Numbered, ...] = ()

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing in it to draw."""
        return not self.inserts and all(page.is_quiet for page in self.pages)


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """Where everything in a volume was.

    Attributes:
        volume: the volume.
        views: covers and openings, front to back.
        unplaced: entries whose place was never said.
    """

    volume: HousedVolume
    views: tuple[View, ...]
    unplaced: tuple[Numbered, ...]

    def find(self, whereabouts: Whereabouts) -> tuple[Numbered, ...]:
        """Return the items that are somewhere, in display order."""
        return tuple(row for row in self.volume.items if whereabouts_of(row[1]) is whereabouts)


def make_guide(volume: HousedVolume, find_thumbnail: FindThumbnail = lambda _place: None) -> Guide:
    """Return the guide of a volume.

    Args:
        volume: the volume.
        find_thumbnail: gives the picture of a place, or None.
    """
    views = tuple(_make_views(volume, find_thumbnail))
    seen = {
        entry.id
        for view in views
        for rows in (view.inserts, *(page.rows for page in view.pages))
        for _, entry in rows
    }
    return Guide(
        volume=volume,
        views=views,
        unplaced=tuple(row for row in volume.rows if row[1].id not in seen),
    )


def _make_views(volume: HousedVolume, find_thumbnail: FindThumbnail) -> Iterator[View]:
    def single(leaf: str) -> Iterator[View]:
        rows = tuple(row for row in volume.rows if row[1].leaf == leaf)
        thumbnail = find_thumbnail(Place(leaf=leaf))
        if rows or thumbnail is not None:
            page = PageView(place=Place(leaf=leaf), rows=rows, thumbnail=thumbnail)
            yield View(pages=(page,))

    def spread(opening: Opening) -> View:
        return View(
            pages=tuple(
                PageView(place=page.place, rows=page.rows, thumbnail=find_thumbnail(page.place))
                for page in (opening.left, opening.right)
            ),
            inserts=opening.inserts,
        )

    yield from single(FRONT_COVER)
    yield from single(SPINE)
    for opening in find_openings(volume):
        yield spread(opening)
    yield from single(POCKET)
    yield from single(BACK_COVER)


def describe_entry(entry: Entry) -> str:
    """Return in a line what an item is and how it was held.

    >>> describe_entry(Entry(id="e", kind=Kind.ITEM, item_type=("snapshot",), quantity=2,
    ...                      attachment=("photo corners",), position="upper left"))
    '2 x snapshot, upper left, held by photo corners'
    """
    what = ", ".join(entry.item_type) or ("item" if entry.kind is Kind.ITEM else "")
    held = [term for term in entry.attachment if term != _LAID_IN]
    facts = (
        f"{entry.quantity} x {what}" if entry.quantity != 1 else what,
        "blank" if entry.blank else "",
        entry.position or "",
        *(["laid in"] if _LAID_IN in entry.attachment else []),
        f"held by {' and '.join(held)}" if held else "",
        entry.adhesion or "",
        *entry.condition,
        _format_size(entry),
        entry.date or "",
    )
    return ", ".join(filter(None, facts))


def describe_whereabouts(entry: Entry) -> str:
    """Return where an item is now, as the guide tells it.

    >>> describe_whereabouts(Entry(id="e", kind=Kind.ITEM, enclosure="envelope 7"))
    'removed to envelope 7'
    """
    where = whereabouts_of(entry)
    return f"removed to {entry.enclosure}" if where is Whereabouts.ENCLOSED else str(where)


def _format_size(entry: Entry) -> str:
    if entry.dimensions is None:
        return ""
    height, width = entry.dimensions
    return f"{height:g} x {width:g} mm"
