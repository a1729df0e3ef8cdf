"""Charts and leaf maps as drawings; every number stands beside its bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from voicelog.domain.entry import Side
from voicelog.exports.report.drawing import Anchor, Box, Corner, Drawing, Ink, Label, Shape
from voicelog.exports.report.figures import Tally
from voicelog.exports.report.leaf_map import Cell, LeafMap, SideState
from voicelog.exports.report.wording import percent

WIDTH = 500.0
MOST_BARS = 15
"""More bars than this are summed up in one line; the table has them all."""

_BAR_HEIGHT = 12.0
_ROW_HEIGHT = 19.0
_LABEL_WIDTH = 165.0
_VALUE_WIDTH = 75.0
_LONGEST_LABEL = 30

_CELL = 26.0
_GAP = 3.0
_LEAVES_IN_A_ROW = 16
_MOST_ROWS = 8  # what an A4 page holds
_ROW_OF_LEAVES = 2 * _CELL + 26.0
_INKS = {
    SideState.UNSEEN: Ink.WHITE,
    SideState.BLANK: Ink.PALE,
    SideState.DOUBTFUL: Ink.ORANGE,
    SideState.HEARD: Ink.SKY,
    SideState.CONFIRMED: Ink.BLUE,
}


def draw_bars(tally: Tally, *, title: str, ink: Ink = Ink.BLUE) -> Drawing:
    """Return a bar for each count, its name before and its number behind it."""
    shown = tally.counts[:MOST_BARS]
    rest = tally.counts[MOST_BARS:]
    longest = max((count.number for count in shown), default=1)
    room = WIDTH - _LABEL_WIDTH - _VALUE_WIDTH
    shapes: list[Shape] = []
    for row, count in enumerate(shown):
        base = row * _ROW_HEIGHT + _BAR_HEIGHT
        length = max(1.5, room * count.number / longest)
        shapes += [
            Label(x=_LABEL_WIDTH - 8, y=base - 2, text=_shorten(count.name), anchor=Anchor.END),
            Box(x=_LABEL_WIDTH, y=base - _BAR_HEIGHT, width=length, height=_BAR_HEIGHT, fill=ink),
            Label(
                x=_LABEL_WIDTH + length + 6,
                y=base - 2,
                text=f"{count.number} ({percent(count.number, tally.among)})",
            ),
        ]
    height = len(shown) * _ROW_HEIGHT
    if rest:
        height += _ROW_HEIGHT
        number = sum(count.number for count in rest)
        text = f"and {len(rest)} more, together {number}"
        shapes.append(Label(x=_LABEL_WIDTH, y=height - 6, text=text, ink=Ink.GREY))
    said = ", ".join(f"{count.name} {count.number}" for count in tally.counts)
    return Drawing(
        width=WIDTH,
        height=max(height, _ROW_HEIGHT),
        shapes=tuple(shapes),
        described=f"{title}: {said or 'none'}",
    )


def draw_leaf_map(leaf_map: LeafMap) -> tuple[Drawing, ...]:
    """Return a cell for each side, recto above verso, leaf by leaf; covers stand alone.

    A long map comes in several drawings, none of them higher than a sheet of paper.
    """
    columns = list(_columns(leaf_map))
    said = ", ".join(f"{leaf_map.count(state)} {state}" for state in SideState)
    at_once = _LEAVES_IN_A_ROW * _MOST_ROWS
    return tuple(
        _draw_columns(columns[start : start + at_once], f"Leaf map of {leaf_map.title}: {said}")
        for start in range(0, len(columns), at_once)
    )


def _draw_columns(columns: Sequence[Sequence[Cell]], described: str) -> Drawing:
    shapes: list[Shape] = []
    for nth, column in enumerate(columns):
        x = nth % _LEAVES_IN_A_ROW * (_CELL + _GAP + 2)
        top = nth // _LEAVES_IN_A_ROW * _ROW_OF_LEAVES
        for cell in column:
            y = top + (_CELL + 2 if cell.place.side is Side.VERSO else 0)
            is_whole = cell.place.side is None
            shapes += _draw_cell(cell, x=x, y=y, height=2 * _CELL + 2 if is_whole else _CELL)
        shapes.append(
            Label(
                x=x + _CELL / 2,
                y=top + 2 * _CELL + 12,
                text=_label_of(column[0]),
                size=7.5,
                anchor=Anchor.MIDDLE,
                ink=Ink.GREY,
            )
        )
    height = -(-len(columns) // _LEAVES_IN_A_ROW) * _ROW_OF_LEAVES
    return Drawing(width=WIDTH, height=height, shapes=tuple(shapes), described=described)


def draw_key() -> Drawing:
    """Return what the cells of a leaf map mean."""
    shapes: list[Shape] = []
    x = 0.0
    for state in SideState:
        shapes.append(_box(state, x=x, y=0, height=14, width=14))
        shapes.append(
            Label(
                x=x + 7, y=10.5, text=_sign(state), size=8, anchor=Anchor.MIDDLE, ink=_text(state)
            )
        )
        shapes.append(Label(x=x + 19, y=10.5, text=str(state), size=9))
        x += 29 + 4.9 * len(state)
    shapes.append(Box(x=x, y=0, width=14, height=14, fill=Ink.WHITE, outline=Ink.GREY))
    shapes.append(Corner(right=x + 14, top=0, length=7, fill=Ink.VERMILION))
    shapes.append(Label(x=x + 19, y=10.5, text="loose, taken out or gone", size=9))
    return Drawing(
        width=WIDTH,
        height=16,
        shapes=tuple(shapes),
        described="Numbers are items; a dash is blank, a question mark doubtful, a corner loose",
    )


def _columns(leaf_map: LeafMap) -> Iterator[list[Cell]]:
    column: list[Cell] = []
    for cell in leaf_map.cells:
        if column and column[0].place.leaf != cell.place.leaf:
            yield column
            column = []
        column.append(cell)
    if column:
        yield column


def _draw_cell(cell: Cell, *, x: float, y: float, height: float) -> Iterator[Shape]:
    yield _box(cell.state, x=x, y=y, height=height, width=_CELL)
    sign = str(cell.items) if cell.items else ""
    if cell.state in {SideState.BLANK, SideState.DOUBTFUL} or not sign:
        sign += _sign(cell.state)
    yield Label(
        x=x + _CELL / 2,
        y=y + height / 2 + 4,
        text=sign,
        size=11,
        anchor=Anchor.MIDDLE,
        ink=_text(cell.state),
        bold=True,
    )
    if cell.has_loose:
        yield Corner(right=x + _CELL, top=y, length=9, fill=Ink.VERMILION)


def _box(state: SideState, *, x: float, y: float, height: float, width: float) -> Box:
    return Box(
        x=x,
        y=y,
        width=width,
        height=height,
        fill=_INKS[state],
        outline=Ink.GREY,
        dashed=state is SideState.UNSEEN,
    )


def _sign(state: SideState) -> str:
    return {SideState.BLANK: "–", SideState.DOUBTFUL: "?"}.get(state, "")


def _text(state: SideState) -> Ink:
    return Ink.WHITE if state is SideState.CONFIRMED else Ink.DARK


def _label_of(cell: Cell) -> str:
    leaf = cell.place.leaf
    if leaf[:1].isdecimal():
        return leaf
    short = {
        "front cover": "front",
        "inside front cover": "inside",
        "inside back cover": "inside",
        "back cover": "back",
        "back flyleaf": "flyleaf",
    }
    if cell.place.is_insert:
        return leaf.removeprefix("between ").replace(" and ", "/")
    return short.get(leaf, leaf)


def _shorten(text: str) -> str:
    return text if len(text) <= _LONGEST_LABEL else f"{text[: _LONGEST_LABEL - 1].rstrip()}…"
