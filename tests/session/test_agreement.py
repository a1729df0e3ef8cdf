"""Comparing a log with expected rows: every way of being wrong counts."""

from __future__ import annotations

from typing import Any

from voicelog.domain.entry import Entry, Kind, Relation, RelationKind, Side, format_entry_record
from voicelog.session.agreement import compare

EXPECTED: dict[str, Any] = {
    "kind": "item",
    "accession": "2031-007",
    "volume": "1",
    "leaf": "14",
    "side": "recto",
    "item": 1,
    "item_type": ["postcard"],
    "caption": "Lamplighters' picnic, Quillhaven weir",
}


def record(number: int = 1, **changes: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "id": f"e-{number}",
        "kind": Kind.ITEM,
        "accession": "2031-007",
        "volume": "1",
        "leaf": "14",
        "side": Side.RECTO,
        "item": number,
        "item_type": ("postcard",),
        "caption": "lamplighters picnic quillhaven weir",
    }
    return format_entry_record(Entry(**{**fields, **changes}), number=number)


def test_rows_that_say_the_same_agree_in_every_field() -> None:
    """Capitals and punctuation of a caption don't count; times and ids don't either."""
    agreement = compare([EXPECTED], [record(handler="Ida", confidence=0.5, notes=(1,))])
    assert (agreement.fields, agreement.agreeing) == (8, 8)
    assert agreement.missing == agreement.unexpected == agreement.differences == ()


def test_a_wrong_a_missing_and_an_unexpected_value_each_count() -> None:
    """A field that nobody expected is as wrong as one that is absent."""
    wrong = compare([EXPECTED], [record(item_type=("photograph",))])
    assert (wrong.fields, wrong.agreeing) == (8, 7)
    absent = compare([EXPECTED], [record(caption=None)])
    assert (absent.fields, absent.agreeing) == (8, 7)
    extra = compare([EXPECTED], [record(date="1952")])
    assert (extra.fields, extra.agreeing) == (9, 8)
    assert [(d.field, d.expected, d.found) for d in extra.differences] == [("date", None, "1952")]


def test_missing_and_unexpected_rows_disagree_in_all_their_fields() -> None:
    """Nothing is gained by leaving a row out or by adding one."""
    agreement = compare([EXPECTED], [record(2)])
    assert (agreement.fields, agreement.agreeing) == (16, 0)
    assert agreement.missing == ("2031-007, volume 1, leaf 14 recto, item 1",)
    assert agreement.unexpected == ("2031-007, volume 1, leaf 14 recto, item 2",)


def test_a_relation_is_compared_by_the_place_it_points_to() -> None:
    """Ids differ from log to log; places don't."""
    expected = {**EXPECTED, "relations": [{"kind": "behind", "to": "14/recto/2"}]}
    behind = Relation(kind=RelationKind.BEHIND, id="e-2")
    other = {**EXPECTED, "item": 2}
    right = compare([expected, other], [record(relations=(behind,)), record(2)])
    assert right.differences == ()
    elsewhere = Relation(kind=RelationKind.BEHIND, id="e-9")
    wrong = compare([expected, other], [record(relations=(elsewhere,)), record(2)])
    assert [difference.field for difference in wrong.differences] == ["relations"]


def test_the_status_counts_only_where_a_row_is_expected_to_be_queried() -> None:
    """A recogniser's own doubts are no error."""
    assert compare([EXPECTED], [record(status="queried")]).differences == ()
    queried = compare([{**EXPECTED, "status": "queried"}], [record()])
    assert [difference.field for difference in queried.differences] == ["status"]
