"""Moving, ordering, splitting, merging, adding; and that no act changes a mark once given."""

from __future__ import annotations

import pytest

from tests.review.desk import Desk
from voicelog.domain.entry import Entry, Relation, RelationKind, Side, Status
from voicelog.errors import EntryLocked, ReviewError, ValueRefused


def on_side(desk: Desk, leaf: str = "14", side: Side = Side.RECTO) -> list[tuple[int | None, str]]:
    return [
        (entry.item, "+".join(entry.item_type))
        for entry in desk.entries()
        if entry.leaf == leaf and entry.side is side
    ]


def test_a_moved_item_comes_last_where_it_goes(desk: Desk) -> None:
    """The side it leaves keeps its numbers."""
    desk.reviewer.move(desk.see("newspaper clipping"), "fourteen verso")
    assert on_side(desk) == [(1, "postcard"), (3, "ticket")]
    assert on_side(desk, side=Side.VERSO) == [(1, "snapshot"), (2, "newspaper clipping")]


@pytest.mark.parametrize(
    ("typed", "place"),
    [("15v", ("15", "verso")), ("page 27", ("14", "recto")), ("7a", ("7A", "recto")),
     ("front cover", ("front cover", None)), ("between 12 and 13", ("between 12 and 13", None))],
)  # fmt: skip
def test_places_are_typed_as_they_are_said(
    desk: Desk, typed: str, place: tuple[str, str | None]
) -> None:
    """A leaf without a side is its recto."""
    desk.reviewer.set_value(desk.see("snapshot"), "leaf", typed)
    moved = desk.the("snapshot").entry
    assert (moved.leaf, moved.side) == place


def test_the_display_follows_the_places(desk: Desk) -> None:
    """Numbers on the screen are those of the new order."""
    desk.reviewer.move(desk.see("snapshot"), "2 recto")
    assert [entry.item_type for entry in desk.entries()][1] == ("snapshot",)
    assert desk.the("snapshot").number == 2


def test_items_are_reordered_by_naming_all_of_them(desk: Desk) -> None:
    """Leaving one out is refused: the page was old, or a hand slipped."""
    wanted = [desk.see("ticket"), desk.see("postcard"), desk.see("newspaper clipping")]
    with pytest.raises(ReviewError, match="name each of its items once"):
        desk.reviewer.reorder(wanted[:2])
    desk.reviewer.reorder(wanted)
    assert on_side(desk) == [(1, "ticket"), (2, "postcard"), (3, "newspaper clipping")]
    desk.reviewer.set_value(desk.see("ticket"), "item", "2")
    assert on_side(desk) == [(1, "postcard"), (2, "ticket"), (3, "newspaper clipping")]


def test_confirmed_items_keep_their_numbers(desk: Desk) -> None:
    """Reordering around them is refused with a sentence."""
    desk.reviewer.confirm([desk.see("ticket")])
    with pytest.raises(EntryLocked, match=r"The ticket .* is confirmed and would get another"):
        desk.reviewer.set_value(desk.see("postcard"), "item", "3")


def test_an_item_is_split_in_two(desk: Desk) -> None:
    """The second one comes right behind, with what it takes and nothing else."""
    desk.say("leaf fifteen recto", "two tickets, yellowed, photo corners", "a menu")
    first = next(one for one in desk.entries() if one.leaf == "15" and one.quantity == 2)
    seen = desk.reviewer.read(first.id).seen
    desk.reviewer.split(seen, {"quantity": "1", "condition": "tear", "caption": "admit one"})
    tickets = [one for one in desk.entries() if one.leaf == "15" and one.item_type == ("ticket",)]
    assert [(one.item, one.quantity, one.condition, one.caption) for one in tickets] == [
        (1, 1, ("yellowed",), None),
        (2, 1, ("tear",), "admit one"),
    ]
    assert tickets[0].id == first.id
    assert tickets[1].notes == first.notes
    assert on_side(desk, "15")[2] == (3, "menu")


def test_merging_keeps_everything_of_both(desk: Desk) -> None:
    """Lists are united; where both say something else it is kept as a doubt."""
    desk.reviewer.set_value(desk.see("ticket"), "caption", "admit one")
    desk.reviewer.set_value(desk.see("ticket"), "adhesion", "secure")
    desk.reviewer.set_relations(
        desk.see("newspaper clipping"),
        [Relation(kind=RelationKind.BEHIND, id=desk.the("ticket").entry.id)],
    )
    desk.reviewer.merge(desk.see("postcard"), desk.see("ticket"))
    postcard = desk.the("postcard").entry
    assert postcard.caption == "the lamplighters at the weir / admit one"
    assert [doubt.message for doubt in postcard.doubts] == [
        "the entry merged into this one had adhesion secure"
    ]
    assert desk.the("ticket").entry.status is Status.VOID
    (relation,) = desk.the("newspaper clipping").entry.relations
    assert relation.id == postcard.id


def test_relations_are_typed_with_the_numbers_of_entries(desk: Desk) -> None:
    """In place of what stood there; nothing typed is none."""
    ticket, postcard = desk.the("ticket"), desk.the("postcard")
    typed = f"behind entry {postcard.number}; Belongs with {desk.the('newspaper clipping').number}"
    desk.reviewer.set_value(ticket.seen, "relations", typed)
    assert desk.the("ticket").entry.relations == (
        Relation(kind=RelationKind.BEHIND, id=postcard.entry.id),
        Relation(kind=RelationKind.BELONGS_WITH, id=desk.the("newspaper clipping").entry.id),
    )
    desk.reviewer.set_value(desk.see("ticket"), "relations", " ")
    assert desk.the("ticket").entry.relations == ()
    assert desk.reviewer.history(ticket.entry.id)[0].field == "relations"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("beside entry 2", r"'beside entry 2' is no relation; write .* 'behind entry 12'\. It can"),
        ("behind the postcard", "is no relation"),
        ("behind entry 99", "There is no entry 99; its number stands before each row"),
        ("behind entry 0", "There is no entry 0"),
    ],
)
def test_what_is_no_relation_is_refused(desk: Desk, typed: str, sentence: str) -> None:
    """With what would be one; nothing is changed."""
    before = desk.the("ticket")
    with pytest.raises(ValueRefused, match=sentence):
        desk.reviewer.set_value(before.seen, "relations", typed)
    with pytest.raises(ReviewError, match="can't be under itself"):
        desk.reviewer.set_value(before.seen, "relations", f"under entry {before.number}")
    assert desk.the("ticket") == before


def test_an_entry_is_added_by_typing_what_would_be_said(desk: Desk) -> None:
    """On the side of the entry beside it, or where the words say."""
    beside = desk.the("postcard").entry.id
    desk.reviewer.add("a brochure, stapled, goes in envelope nine", beside=beside)
    added = desk.the("brochure").entry
    assert (added.leaf, added.side, added.item, added.enclosure) == (
        "14", Side.RECTO, 4, "envelope 9",
    )  # fmt: skip
    assert (added.volume, added.volume_name, added.notes) == ("1", "the green book", ())
    desk.reviewer.add("leaf fifteen verso, a menu", beside=beside)
    menu = desk.the("menu").entry
    assert (menu.leaf, menu.side, menu.item) == ("15", Side.VERSO, 1)
    with pytest.raises(ReviewError, match="names nothing new; say what it is"):
        desk.reviewer.add("yellowed", beside=beside)


def marked(desk: Desk) -> dict[str, str]:
    return {
        "+".join(entry.item_type): entry.mark
        for entry in desk.entries(include_void=True)
        if entry.mark is not None
    }


def test_no_act_of_placing_changes_a_mark(desk: Desk) -> None:
    """What is written on an object is a fact, wherever its entry goes."""
    desk.say("leaf fourteen recto", "the ticket came off, number on the back")
    assert marked(desk) == {"ticket": "2031-007 vol. 1, 14r, 3"}
    desk.reviewer.set_value(desk.see("ticket"), "item", "1")
    desk.reviewer.move(desk.see("ticket"), "20 verso")
    desk.reviewer.split(desk.see("ticket"), {"item_type": "menu"})
    assert marked(desk) == {"ticket": "2031-007 vol. 1, 14r, 3"}


def test_no_two_objects_get_the_same_mark(desk: Desk) -> None:
    """The number that a moved or void item carries isn't given out again."""
    desk.say("leaf fourteen recto", "the ticket came off", "the postcard came off")
    desk.reviewer.move(desk.see("ticket"), "20 recto")
    desk.reviewer.void(desk.see("postcard"))
    desk.say("leaf fourteen recto", "a menu, came off")
    desk.reviewer.set_value(desk.see("newspaper clipping"), "item", "1")
    desk.reviewer.set_value(desk.see("newspaper clipping"), "enclosure", "envelope 3")
    marks = marked(desk)
    assert len(set(marks.values())) == len(marks) == 4
    assert marks["ticket"] == "2031-007 vol. 1, 14r, 3"
    assert desk.the("newspaper clipping").entry.action == ("enclosed",)


def test_a_written_mark_can_not_be_typed_over(desk: Desk) -> None:
    """One that was only given out can, as long as no other object has it."""
    desk.say("leaf fourteen recto", "the ticket came off", "the postcard came off")
    with pytest.raises(ValueRefused, match="Another object carries the mark"):
        desk.reviewer.set_value(desk.see("ticket"), "mark", "2031-007 vol. 1, 14r, 1")
    desk.reviewer.set_value(desk.see("ticket"), "mark", "2031-007 vol. 1, 14r, 33")
    desk.reviewer.set_value(desk.see("ticket"), "action", "detached; inscribed")
    with pytest.raises(ValueRefused, match="is written on the object"):
        desk.reviewer.set_value(desk.see("ticket"), "mark", "2031-007 vol. 1, 14r, 34")


def test_a_wrong_accession_in_many_rows_is_one_correction(desk: Desk) -> None:
    """Previewed, done and undone as one; later notes carry the right one."""
    before = desk.entries()
    alike = desk.reviewer.preview_alike(desk.the("postcard").entry.id, "accession", "2031-008")
    assert len(alike.entries) == len(before) == 5
    desk.reviewer.set_alike(alike)
    desk.say("a menu")
    assert {entry.accession for entry in desk.entries()} == {"2031-008"}
    assert desk.reread().changes == ()


def test_confirmed_rows_are_named_and_kept(desk: Desk) -> None:
    """The preview says which ones carry the value and stay."""
    desk.reviewer.confirm([desk.see("ticket")])
    alike = desk.reviewer.preview_alike(desk.the("postcard").entry.id, "leaf", "15")
    names = [one.entry.item_type for one in alike.entries]
    assert ("ticket",) not in names
    assert [one.entry.item_type for one in alike.kept] == [("ticket",)]
    desk.reviewer.set_alike(alike)
    assert on_side(desk) == [(3, "ticket")]
    assert on_side(desk, "15") == [(1, "postcard"), (2, "newspaper clipping")]
    assert on_side(desk, "15", Side.VERSO) == [(1, "snapshot")]
    before: list[Entry] = desk.entries()
    with pytest.raises(ValueRefused, match="was not carried over"):
        desk.reviewer.preview_alike(desk.the("postcard").entry.id, "caption", "x")
    assert desk.entries() == before


def test_renaming_a_volume_takes_its_rows_along(desk: Desk) -> None:
    """As a note that names it would."""
    volume = desk.entries()[0]
    desk.reviewer.set_value(desk.reviewer.read(volume.id).seen, "volume", "2")
    assert {entry.volume for entry in desk.entries()} == {"2"}
    desk.say("a menu")
    assert desk.the("menu").entry.volume == "2"
    assert desk.reread().changes == ()
