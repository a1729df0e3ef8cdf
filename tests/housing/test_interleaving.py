"""Where a sheet goes: decided per opening, by what lies on the two facing pages."""

from __future__ import annotations

from typing import Any

import pytest

from tests.housing.volumes import entry, item, volume
from voicelog.domain.entry import Access, Adhesion
from voicelog.housing.interleaving import load_interleaving_rules, plan_interleaving
from voicelog.housing.openings import (
    find_leaves,
    find_openings,
    find_private_places,
    format_place,
)
from voicelog.housing.volumes import Numbered
from voicelog.vocabulary import TermField, load_vocabulary

CLIPPING = ("newspaper clipping",)


def places(*rows: Numbered, leaves: int = 3, **fields: Any) -> list[str]:
    """Return where the sheets of a volume of three leaves go."""
    plan = plan_interleaving(volume(*rows, leaves=leaves, **fields), load_interleaving_rules())
    return [sheet.place for sheet in plan.sheets]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # A clipping on a recto faces the verso before it; on a verso, the recto after it.
        ([item(1, "2r", *CLIPPING)], ["leaf 1 verso | leaf 2 recto"]),
        ([item(1, "2v", *CLIPPING)], ["leaf 2 verso | leaf 3 recto"]),
        # Both facing pages carry something: one sheet parts them.
        ([item(1, "2v", *CLIPPING), item(2, "3r", "map")], ["leaf 2 verso | leaf 3 recto"]),
        # Both blank, or nothing that could do harm: none.
        ([entry(1, "2v", blank=True), entry(2, "3r", blank=True)], []),
        ([item(1, "2r", "ticket")], []),
        # The covers face the first and the last leaf.
        ([item(1, "1r", *CLIPPING)], ["inside front cover | leaf 1 recto"]),
        ([item(1, "3v", *CLIPPING)], ["leaf 3 verso | inside back cover"]),
        ([item(1, "inside back cover", *CLIPPING)], ["leaf 3 verso | inside back cover"]),
        ([item(1, "front cover", *CLIPPING)], []),
        # A leaf without a side means both of its sides; an item without one its recto.
        (
            [entry(1, "2", condition=("ink offset",))],
            ["leaf 1 verso | leaf 2 recto", "leaf 2 verso | leaf 3 recto"],
        ),
        ([item(1, "2", *CLIPPING)], ["leaf 1 verso | leaf 2 recto"]),
        # What lies loose between two leaves lies in their opening.
        ([item(1, "between 2 and 3", "menu")], ["leaf 2 verso | leaf 3 recto"]),
        # What is gone can't offset any more; what it left can still stick.
        ([item(1, "2r", *CLIPPING, enclosure="envelope 1")], []),
        ([item(1, "2r", *CLIPPING, adhesion=Adhesion.LOOSE)], []),
        ([item(1, "2r", *CLIPPING, condition=("missing item",))], []),
        (
            [item(1, "2r", *CLIPPING, condition=("missing item", "adhesive residue"))],
            ["leaf 1 verso | leaf 2 recto"],
        ),
        # Mould and powder keep everybody's fingers away, whatever else lies there.
        ([entry(1, "2r", condition=("mould",)), item(2, "2r", *CLIPPING, item=1)], []),
        ([item(1, "2r", *CLIPPING, condition=("powder, unidentified",))], []),
    ],
)  # fmt: skip
def test_a_sheet_goes_where_a_facing_page_can_do_harm(
    rows: list[Numbered], expected: list[str]
) -> None:
    """One line for each rule and each near miss."""
    assert places(*rows) == expected


def test_an_overlay_covers_every_page() -> None:
    """No sheet is wanted, whatever lies beneath; the plan says why."""
    made = volume(item(1, "1r", *CLIPPING), leaves=3, overlay="clear plastic")
    plan = plan_interleaving(made, load_interleaving_rules())
    assert plan.sheets == ()
    assert plan.overlay == "clear plastic"


@pytest.mark.parametrize(
    ("kind", "buffered"),
    [
        ("cyanotype", False),
        ("pressed flower", False),
        ("albumen print", True),
        ("newspaper clipping", True),
    ],
)
def test_no_buffered_sheet_lies_against_a_cyanotype(kind: str, buffered: bool) -> None:  # noqa: FBT001
    """No buffered paper against cyanotypes (ccaha.org); on old processes else no consensus."""
    made = volume(item(1, "2r", kind), item(2, "1v", "newspaper clipping"), leaves=3)
    (sheet,) = plan_interleaving(made, load_interleaving_rules()).sheets
    assert sheet.buffered is buffered


def test_an_opening_with_a_hazard_is_left_alone_and_told() -> None:
    """A sheet is for later; first somebody decides."""
    made = volume(item(1, "2r", *CLIPPING, condition=("mould",)), leaves=3)
    plan = plan_interleaving(made, load_interleaving_rules())
    assert [opening.title for opening in plan.left_alone] == ["leaf 1 verso | leaf 2 recto"]


def test_every_reason_is_told_once() -> None:
    """In the words of the vocabulary."""
    made = volume(
        item(1, "2r", *CLIPPING, attachment=("cellophane tape",)),
        item(2, "2r", *CLIPPING, item=2),
        leaves=3,
    )
    (sheet,) = plan_interleaving(made, load_interleaving_rules()).sheets
    assert sheet.reasons == ("newspaper clipping can offset", "cellophane tape can stick")


def test_openings_that_nobody_spoke_of_are_counted_apart() -> None:
    """Three leaves have four openings; one page of two of them is known."""
    made = volume(item(1, "2r", *CLIPPING), entry(2, "3v", blank=True), leaves=3)
    plan = plan_interleaving(made, load_interleaving_rules())
    assert plan.openings == 4
    assert [format_place(opening.left.place) for opening in plan.unknown] == [
        "inside front cover",
        "leaf 2 verso",
    ]


@pytest.mark.parametrize(
    ("named", "said", "expected"),
    [
        ([], 3, ("1", "2", "3")),
        (["2r"], None, ("1", "2")),
        (["5r"], 3, ("1", "2", "3", "4", "5")),
        (["2Ar", "2Br"], 3, ("1", "2A", "2B", "3")),
        (["2r", "2Ar"], 3, ("1", "2", "2A", "3")),
        (["flyleaf", "back flyleaf"], 1, ("flyleaf", "1", "back flyleaf")),
        (["front cover", "between 1 and 2"], 2, ("1", "2")),
        ([], None, ()),
    ],
)
def test_leaves_are_those_said_and_those_named(
    named: list[str], said: int | None, expected: tuple[str, ...]
) -> None:
    """A leaf that nobody spoke of is there all the same."""
    rows = [item(number, place, "map") for number, place in enumerate(named, start=1)]
    assert find_leaves(volume(*rows, leaves=said)) == expected


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        ("2r", {"leaf 2 recto"}),
        ("back cover", {"back cover"}),
        ("between 1 and 2", {"leaf 1 verso", "leaf 2 recto"}),
    ],
)
def test_pages_that_would_show_something_restricted(place: str, expected: set[str]) -> None:
    """What lay loose between two leaves may be seen on both."""
    made = volume(item(1, place, "report card", access=Access.RESTRICTED), leaves=3)
    assert expected <= {format_place(private) for private in find_private_places(made)}
    assert "leaf 3 recto" not in {format_place(each) for each in find_private_places(made)}


def test_a_volume_without_leaves_is_one_opening() -> None:
    """The covers face each other."""
    assert len(find_openings(volume())) == 1


def test_every_term_of_the_rules_is_in_the_vocabulary() -> None:
    """A misspelt term would silently never call for a sheet."""
    rules = load_interleaving_rules()
    vocabulary = load_vocabulary()
    for terms in rules.calls.values():
        for field, wanted in terms.items():
            known = {concept.term for concept in vocabulary.of_field(TermField(field))}
            assert wanted <= known
    types = {concept.term for concept in vocabulary.of_field(TermField.ITEM_TYPE)}
    assert rules.unbuffered <= types
    conditions = {concept.term for concept in vocabulary.of_field(TermField.CONDITION)}
    assert rules.leave_alone <= conditions
