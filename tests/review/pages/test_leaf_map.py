"""The leaf map shows the volume as it lies open."""

from __future__ import annotations

import pytest

from voicelog.domain.entry import Side
from voicelog.review.pages.leaf_map import Cell, Opening, make_leaf_map
from voicelog.store.worklist import SideSummary


def side(leaf: str, side: Side | None = Side.RECTO, **facts: int) -> SideSummary:
    usual = {"heard": 0, "queried": 0, "confirmed": 0, "is_blank": 0, "loose": 0, "images": 0}
    return SideSummary(leaf=leaf, side=side, **{**usual, **facts})  # type: ignore[arg-type]


def draw(openings: tuple[Opening, ...]) -> str:
    """Draw the map in one line: openings between bars, inserts between the sides."""
    parts = []
    for opening in openings:
        if opening.gap:
            parts.append("...")
            continue
        cells: list[Cell | None] = [opening.left, *opening.inserts, opening.right]
        parts.append(" ".join(cell.short for cell in cells if cell))
    return " | ".join(parts)


@pytest.mark.parametrize(
    ("said", "leaves", "drawn"),
    [
        ([side("1")], None, "front | in 1r | 1v in | back"),
        ([side("2")], 3, "front | in 1r | 1v 2r | 2v 3r | 3v in | back"),
        ([side("2"), side("2A")], 2, "front | in 1r | 1v 2r | 2v 2Ar | 2Av in | back"),
        ([side("1"), side("between 1 and 2", None)], 2, "front | in 1r | 1v + 2r | 2v in | back"),
        ([side("flyleaf")], 1, "front | in flyr | flyv 1r | 1v in | back"),
        ([side("1"), side("9000")], None, "front | in 1r | 1v | ... | 9000r | 9000v in | back"),
        ([side("pocket", None)], 1, "front | in 1r | 1v in | back | pocket"),
    ],
)  # fmt: skip
def test_draws_openings(said: list[SideSummary], leaves: int | None, drawn: str) -> None:
    """A verso beside the next recto, covers alone, inserts between, silence drawn short."""
    assert draw(make_leaf_map(said, leaves=leaves)).replace("flyr", "fly").replace(
        "flyv", "fly"
    ) == drawn.replace("flyr", "fly").replace("flyv", "fly")


@pytest.mark.parametrize(
    ("facts", "state", "label"),
    [
        ({"heard": 2}, "heard", "leaf 1 recto: 2 entries"),
        ({"heard": 2, "queried": 1}, "queried", "leaf 1 recto: 3 entries, 1 queried"),
        ({"confirmed": 1}, "confirmed", "leaf 1 recto: 1 entry, 1 confirmed"),
        ({"heard": 1, "confirmed": 1}, "heard", "leaf 1 recto: 2 entries, 1 confirmed"),
        ({"heard": 1, "is_blank": 1, "images": 1}, "heard", "leaf 1 recto: 1 entry, blank, imaged"),
        ({"heard": 1, "loose": 2}, "heard", "leaf 1 recto: 1 entry, 2 loose"),
    ],
)
def test_says_everything_in_words(facts: dict[str, int], state: str, label: str) -> None:
    cell = make_leaf_map([side("1", **facts)], leaves=1)[1].right
    assert cell is not None
    assert (cell.state, cell.label) == (state, label)


def test_what_is_said_of_both_sides_shows_on_each() -> None:
    openings = make_leaf_map([side("1", None, heard=1, is_blank=1)], leaves=1)
    cells = [openings[1].right, openings[2].left]
    assert [cell.is_blank for cell in cells if cell] == [True, True]
