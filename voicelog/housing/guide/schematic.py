"""Where the items of a side are drawn: positions into rectangles on a page.

A side is divided into three by three fields, which the nine positions name. An item with a
size is drawn to scale where the page's size is known; one without is drawn in a usual
size. An item without a position gets the next free field in reading order and is marked as
guessed, so that nobody takes the drawing for evidence. What lies inside, behind or under
another item is drawn at that one's place, a little aside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from voicelog.domain.entry import Entry, RelationKind
from voicelog.housing.volumes import Numbered, Whereabouts, whereabouts_of

_ROWS = {"upper": 0, "centre": 1, "lower": 2}
_COLUMNS = {"left": 0, "centre": 1, "right": 2}
_USUAL = (0.22, 0.26)  # height and width of an item without a size, as parts of the page's
_LARGEST = 0.94
_SMALLEST = 0.07
_ASIDE = 0.035
_ASIDE_BENEATH = 0.09
_LABEL_INSET = 0.035
_LABEL_CORNER = (0.055, 0.07)  # at most so far from the left and the top
_BENEATH = frozenset({RelationKind.INSIDE, RelationKind.BEHIND, RelationKind.UNDER})
_AT_THE_OTHERS_PLACE = _BENEATH | {RelationKind.OVERLAPPING, RelationKind.ATTACHED_TO}
_READING_ORDER = tuple((row, column) for row in range(3) for column in range(3))
Field = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """An item on the drawing; lengths are parts of the page's height or width, 0 to 1.

    Attributes:
        number: the entry's display number.
        entry: the entry.
        left: from the left edge.
        top: from the upper edge.
        width: its width.
        height: its height.
        is_guessed: whether nobody said where on the side it is.
        where: where it is now.
        is_beneath: whether it lies inside, behind or under another.
    """

    number: int
    entry: Entry
    left: float
    top: float
    width: float
    height: float
    is_guessed: bool
    where: Whereabouts
    is_beneath: bool

    @property
    def label(self) -> str:
        """What is written in the rectangle: its order on the side."""
        return str(self.entry.item) if self.entry.item is not None else f"#{self.number}"

    @property
    def label_at(self) -> tuple[float, float]:
        """The middle of the label, from the left and from the top.

        It stands in the upper left corner, where smaller things seldom lie; of what lies
        beneath another only the lower right corner is seen.
        """
        if self.is_beneath:
            return self.left + self.width - _LABEL_INSET, self.top + self.height - _LABEL_INSET
        from_left = min(self.width / 2, _LABEL_CORNER[0])
        from_top = min(self.height / 2, _LABEL_CORNER[1])
        return self.left + from_left, self.top + from_top


def find_field(position: str | None) -> Field | None:
    """Return row and column of a position, or None where it names no field.

    >>> find_field("upper right"), find_field("centre"), find_field("overlapping")
    ((0, 2), (1, 1), None)
    >>> find_field("centre left"), find_field("lower centre")
    ((1, 0), (2, 1))
    """
    match position.split() if position else []:
        case ["centre"]:
            return 1, 1
        case [row, column] if row in _ROWS and column in _COLUMNS:
            return _ROWS[row], _COLUMNS[column]
        case _:
            return None


def draw_side(items: Sequence[Numbered], page_mm: tuple[float, float] | None) -> tuple[Drawn, ...]:
    """Return the items of one side as they are drawn: those beneath others first, then by size.

    Args:
        items: the items, in display order.
        page_mm: height and width of the page, or None where nobody knows.
    """
    said = {entry.id: find_field(entry.position) for _, entry in items}
    taken = [field for field in said.values() if field is not None]
    free = [field for field in _READING_ORDER if field not in taken]
    hosts = {entry.id: _find_host(entry, said) for _, entry in items}
    fields: dict[str, Field] = {}
    crowd: dict[Field, int] = {}
    drawn: list[Drawn] = []
    for number, entry in items:
        host = hosts[entry.id]
        field = said[entry.id]
        guessed = field is None
        if field is None and host is not None:
            field = fields.get(host) or said[host]
            guessed = False
        if field is None:
            field = free.pop(0) if free else _READING_ORDER[len(drawn) % len(_READING_ORDER)]
        fields[entry.id] = field
        aside = crowd.get(field, 0)
        crowd[field] = aside + 1
        is_beneath = any(each.kind in _BENEATH for each in entry.relations)
        drawn.append(
            _place(
                Drawn(
                    number=number,
                    entry=entry,
                    left=0,
                    top=0,
                    width=_scale(entry, page_mm, axis=1),
                    height=_scale(entry, page_mm, axis=0),
                    is_guessed=guessed,
                    where=whereabouts_of(entry),
                    is_beneath=is_beneath,
                ),
                field,
                aside * (_ASIDE_BENEATH if is_beneath else _ASIDE),
            )
        )
    # Large ones first, so that none disappears behind another.
    return tuple(sorted(drawn, key=lambda each: (not each.is_beneath, -each.width * each.height)))


def _find_host(entry: Entry, known: Mapping[str, Field | None]) -> str | None:
    """Return the id of the item on the same side that this one lies with."""
    return next(
        (
            relation.id
            for relation in entry.relations
            if relation.kind in _AT_THE_OTHERS_PLACE and relation.id in known
        ),
        None,
    )


def _scale(entry: Entry, page_mm: tuple[float, float] | None, *, axis: int) -> float:
    if entry.dimensions is None or page_mm is None or page_mm[axis] <= 0:
        return _USUAL[axis]
    return max(_SMALLEST, min(entry.dimensions[axis] / page_mm[axis], _LARGEST))


def _place(item: Drawn, field: Field, aside: float) -> Drawn:
    """Put an item into the middle of its field, pushed back onto the page where it stands out."""
    margin = (1 - _LARGEST) / 2
    row, column = field
    top = (row + 0.5) / 3 - item.height / 2 + aside
    left = (column + 0.5) / 3 - item.width / 2 + aside
    return replace(
        item,
        top=max(margin, min(top, 1 - margin - item.height)),
        left=max(margin, min(left, 1 - margin - item.width)),
    )
