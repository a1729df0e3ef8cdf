"""Every side of a volume, in the order in which one turns it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.checks.volumes import VolumeLog, group_volumes
from voicelog.domain.entry import Entry, Kind, Side
from voicelog.domain.place import NAMED_PLACES, Place
from voicelog.exports.sides import list_sides

COVERS_BEFORE = ["front cover", "inside front cover"]
COVERS_AFTER = ["inside back cover", "back cover"]


def place(text: str) -> Place:
    for side in Side:
        if text.endswith(f" {side}"):
            return Place(leaf=text.removesuffix(f" {side}"), side=side)
    return Place(leaf=text)


def volume(places: list[Place], *, leaves: int | None = None) -> VolumeLog:
    entries = [Entry(id="v", kind=Kind.VOLUME, volume="1", leaves=leaves)]
    entries += [
        Entry(id=str(nth), kind=Kind.LEAF, volume="1", leaf=one.leaf, side=one.side)
        for nth, one in enumerate(places)
    ]
    (made,) = group_volumes(entries)
    return made


def said(sides: tuple[Place, ...]) -> list[str]:
    return [f"{one.leaf} {one.side}" if one.side else one.leaf for one in sides]


@pytest.mark.parametrize(
    ("logged", "leaves", "between"),
    [
        ([], None, []),
        ([], 1, ["1 recto", "1 verso"]),
        (["2 verso"], None, ["1 recto", "1 verso", "2 recto", "2 verso"]),
        (["1"], None, ["1 recto", "1 verso"]),
        (["flyleaf"], 1, ["flyleaf recto", "flyleaf verso", "1 recto", "1 verso"]),
        (["between 1 and 2"], 2, ["1 recto", "1 verso", "between 1 and 2", "2 recto", "2 verso"]),
        # Beyond the leaves that the volume is said to have: there all the same.
        (["3 recto"], 1, ["1 recto", "1 verso", "3 recto", "3 verso"]),
    ],
)
def test_sides_follow_each_other_as_in_the_volume(
    logged: list[str], leaves: int | None, between: list[str]
) -> None:
    """The covers are always there; a leaf passed over in silence is there too."""
    sides = list_sides(volume([place(one) for one in logged], leaves=leaves))
    assert said(sides) == COVERS_BEFORE + between + COVERS_AFTER


@given(
    st.lists(
        st.one_of(
            st.sampled_from(NAMED_PLACES), st.integers(1, 40).map(str), st.just("between 3 and 4")
        )
    )
)
def test_no_place_that_was_logged_is_missing_and_none_is_there_twice(leaves: list[str]) -> None:
    """Whatever the order in which the handler went through the volume."""
    logged = [
        Place(leaf=leaf, side=Side.VERSO) if Place(leaf=leaf).has_sides else Place(leaf=leaf)
        for leaf in leaves
    ]
    sides = list_sides(volume(logged))
    assert set(logged) <= set(sides)
    assert len(sides) == len(set(sides))
