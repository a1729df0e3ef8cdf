"""The box nearest in size, and sheets cut with the least waste, against brute force."""

from __future__ import annotations

from functools import cache
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.housing.volumes import box, sheet
from voicelog.housing.boxes import BoxChoice, Load, NoBox, choose_box
from voicelog.housing.cutting import cut_pieces, find_largest_lack, plan_cutting
from voicelog.housing.stock import Box

BOXES = (box(300, 250, 50), box(400, 300, 50), box(400, 300, 80), box(610, 450, 100))


@pytest.mark.parametrize(
    ("loads", "expected"),
    [
        # 280 + 2 x 3 = 286 and 220 + 6 = 226 go into 300 x 250; 20 + 3 = 23 into 50.
        ([Load(220, 280, 20)], "box 300 x 250 x 50"),
        # Turned by 90 degrees it goes in as well.
        ([Load(280, 220, 20)], "box 300 x 250 x 50"),
        # 295 + 6 = 301 is a millimetre too long for the small one.
        ([Load(220, 295, 20)], "box 400 x 300 x 50"),
        # 48 + 3 = 51 is a millimetre too thick for two of them.
        ([Load(220, 280, 48)], "box 400 x 300 x 80"),
        # A scrapbook is never stood up, though on its edge it would go into the last box.
        ([Load(90, 700, 90)], None),
        # Beside a volume of 280 x 220 the folders of 100 x 200 need 280 + 100 + 9 = 389 of
        # length: the second box takes both.
        ([Load(220, 280, 20), Load(200, 100, 10)], "box 400 x 300 x 50"),
        # With folders of 230 x 200 it is 280 + 200 + 9 = 489: only the last box is left.
        ([Load(220, 280, 20), Load(230, 200, 10)], "box 610 x 450 x 100"),
    ],
)  # fmt: skip
def test_the_box_nearest_in_size_takes_the_volume_flat(
    loads: list[Load], expected: str | None
) -> None:
    """3 mm of room on every side and above; folders beside the volume, never on it."""
    found = choose_box(loads, BOXES, clearance_mm=3)
    assert (found.box.name if isinstance(found, BoxChoice) else None) == expected


def test_no_box_is_told_with_by_how_much() -> None:
    """700 + 6 - 610 = 96 mm in length; 500 + 6 - 450 = 56 mm in width."""
    found = choose_box([Load(700, 500, 20)], BOXES, clearance_mm=3)
    assert isinstance(found, NoBox)
    assert found.reason == (
        "no box in stock is large enough; box 610 x 450 x 100 lacks 96.0 mm in length and "
        "56.0 mm in width"
    )


def test_an_empty_shelf_is_told() -> None:
    """And not taken for a volume that is too large."""
    found = choose_box([Load(200, 200, 20)], (), clearance_mm=3)
    assert isinstance(found, NoBox)
    assert found.reason == "the stock lists no boxes"


_small = st.integers(1, 9)
_loads = st.lists(st.builds(Load, _small, _small, _small), min_size=1, max_size=2)
_boxes = st.lists(
    st.builds(box, st.integers(2, 20), st.integers(2, 20), st.integers(1, 10)),
    max_size=5,
    unique_by=lambda each: each.name,
)


def can_lie_in(loads: list[Load], one: Box, clearance: int) -> bool:
    """Lay things on every whole millimetre of the floor, in every turn, apart from each other."""
    if any(load.thickness_mm + clearance > one.depth_mm for load in loads):
        return False
    options = []
    for load in loads:
        sizes = {(load.width_mm, load.height_mm), (load.height_mm, load.width_mm)}
        options.append(
            [
                (x, y, length, width)
                for length, width in sizes
                for x in range(clearance, int(one.length_mm - clearance - length) + 1)
                for y in range(clearance, int(one.width_mm - clearance - width) + 1)
            ]
        )
    if len(loads) == 1:
        return bool(options[0])
    return any(
        x + length + clearance <= u
        or u + other_length + clearance <= x
        or y + width + clearance <= v
        or v + other_width + clearance <= y
        for (x, y, length, width), (u, v, other_length, other_width) in product(*options)
    )


@settings(max_examples=60, deadline=None)
@given(_loads, _boxes, st.integers(0, 1))
def test_no_nearer_box_would_do(loads: list[Load], boxes: list[Box], clearance: int) -> None:
    """Compared with trying every spot on the floor of every box."""
    fitting = [one for one in boxes if can_lie_in(loads, one, clearance)]
    found = choose_box(loads, boxes, clearance_mm=clearance)
    if not fitting:
        assert isinstance(found, NoBox)
        return
    assert isinstance(found, BoxChoice)
    assert found.box.volume_mm3 == min(one.volume_mm3 for one in fitting)
    assert found.void_mm3 == found.box.volume_mm3 - sum(load.volume_mm3 for load in loads)


@settings(max_examples=60, deadline=None)
@given(_loads, _boxes, st.integers(0, 1))
def test_things_in_a_box_lie_apart_and_inside(
    loads: list[Load], boxes: list[Box], clearance: int
) -> None:
    """The spots that are drawn on the lid are true."""
    found = choose_box(loads, boxes, clearance_mm=clearance)
    if isinstance(found, NoBox):
        return
    for spot, load in zip(found.spots, loads, strict=True):
        assert sorted((spot.length_mm, spot.width_mm)) == sorted((load.height_mm, load.width_mm))
        assert spot.left_mm >= clearance
        assert spot.top_mm >= clearance
        assert spot.left_mm + spot.length_mm + clearance <= found.box.length_mm
        assert spot.top_mm + spot.width_mm + clearance <= found.box.width_mm
    for one, other in permutations(found.spots, 2):
        beside = one.left_mm + one.length_mm + clearance <= other.left_mm
        above = one.top_mm + one.width_mm + clearance <= other.top_mm
        back = other.left_mm + other.length_mm + clearance <= one.left_mm
        below = other.top_mm + other.width_mm + clearance <= one.top_mm
        assert beside or above or back or below


# --- Cutting --------------------------------------------------------------------------


def test_three_pieces_come_out_of_a_sheet_that_a_grid_gives_two() -> None:
    """From 13 x 10, pieces of 5 x 8: a grid gives 2 (13 // 5 x 10 // 8), one of them turned 3.

    Two upright take 10 x 8 of it; what is left on the right, 3 x 10, holds none. One cut at 8
    leaves 5 x 10, which takes one upright; the 8 x 10 takes two lying (8 x 5 each): 3.
    """
    assert len(cut_pieces(sheet(13, 10), 5, 8)) == 3


@pytest.mark.parametrize(
    ("grain", "expected"),
    [
        (None, 3),
        # Along the length: pieces stand 5 along 13 and 8 across 10: 2.
        ("long", 2),
        # Along the width: pieces lie 8 along 13 and 5 across 10: 1 x 2 = 2.
        ("short", 2),
    ],
)
def test_known_grain_runs_along_the_height_of_every_piece(grain: str | None, expected: int) -> None:
    """So pieces are not turned against it."""
    cuts = cut_pieces(sheet(13, 10, grain=grain), 5, 8)
    assert len(cuts) == expected
    if grain == "long":
        assert {cut.along_mm for cut in cuts} == {5}
    elif grain == "short":
        assert {cut.along_mm for cut in cuts} == {8}


def most_pieces(length: int, width: int, height: int, across: int) -> int:
    """Try every cut at every whole millimetre, on both sides of it."""

    @cache
    def count(x: int, y: int) -> int:
        most = int((height <= x and across <= y) or (height <= y and across <= x))
        for at in range(1, x):
            most = max(most, count(at, y) + count(x - at, y))
        for at in range(1, y):
            most = max(most, count(x, at) + count(x, y - at))
        return most

    return count(length, width)


@settings(max_examples=80, deadline=None)
@given(st.integers(4, 22), st.integers(4, 22), st.integers(2, 12), st.integers(2, 12))
def test_no_way_to_cut_gives_more_pieces(length: int, width: int, height: int, across: int) -> None:
    """Compared with every guillotine cut at every whole millimetre."""
    long, short = max(length, width), min(length, width)
    cuts = cut_pieces(sheet(long, short), height, across)
    assert len(cuts) == most_pieces(long, short, height, across)
    covered = set()
    for cut in cuts:
        assert sorted((cut.along_mm, cut.across_mm)) == sorted((height, across))
        cells = {
            (x, y)
            for x in range(round(cut.left_mm), round(cut.left_mm + cut.along_mm))
            for y in range(round(cut.top_mm), round(cut.top_mm + cut.across_mm))
        }
        assert not cells & covered
        covered |= cells
    assert all(0 <= x < long and 0 <= y < short for x, y in covered)


def test_a_roll_is_cut_in_rows_and_columns() -> None:
    """More than 400 pieces: 3000 // 50 x 1000 // 40 = 60 x 25, turned 75 x 20: both 1,500."""
    cuts = cut_pieces(sheet(3000, 1000), 50, 40)
    assert len(cuts) == 1500
    assert max(cut.left_mm + cut.along_mm for cut in cuts) == 3000


def test_the_sheet_that_wastes_least_is_taken() -> None:
    """Six pieces of 100 x 100: 3 sheets of 210 x 110 waste 9,300 mm2, one of 330 x 220 12,600."""
    plan = plan_cutting(6, (100, 100), [sheet(330, 220), sheet(210, 110)], buffered=True)
    assert plan is not None
    assert (plan.sheet.length_mm, plan.sheets, plan.waste_mm2) == (210, 3, 9_300)


def test_only_sheets_of_the_right_kind_are_cut() -> None:
    """A cyanotype gets no buffered sheet because it would waste less."""
    sheets = [sheet(100, 100), sheet(300, 300, buffered=False)]
    plan = plan_cutting(1, (100, 100), sheets, buffered=False)
    assert plan is not None
    assert not plan.sheet.buffered
    assert plan_cutting(1, (100, 100), sheets[:1], buffered=False) is None


def test_a_leaf_larger_than_every_sheet_is_told_with_by_how_much() -> None:
    """310 x 200 out of 300 x 220 lacks 10 mm."""
    sheets = [sheet(300, 220), sheet(200, 200)]
    assert plan_cutting(1, (200, 310), sheets, buffered=True) is None
    assert find_largest_lack((200, 310), sheets, buffered=True) == (sheets[0], 10)
    assert find_largest_lack((200, 310), [], buffered=True) is None
