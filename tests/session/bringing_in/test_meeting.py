"""Two benches, one volume: what each said, what stands afterwards, what is doubted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.domain.entry import Entry, Kind, Relation, RelationKind, Side, Status
from voicelog.session.bringing_in.meeting import Decided, Meeting, meet
from voicelog.store.brought import Brought

VOLUME = Entry(
    id="v-here", kind=Kind.VOLUME, accession="2031-007", volume="1", volume_name="the green book"
)
TICKET = Entry(
    id="i-here",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    leaf="14",
    side=Side.RECTO,
    item=1,
    item_type=("ticket",),
)
BLANK = replace(TICKET, id="l-here", kind=Kind.LEAF, item=None, item_type=(), blank=True)
VOLUME_THERE = replace(VOLUME, id="v-there")
POSTCARD_THERE = replace(TICKET, id="i-there", item_type=("postcard",), leaf="15")
BEFORE = {"i-there": Brought(entry=POSTCARD_THERE)}


def changed(base: Entry, **values: Any) -> Entry:
    return replace(base, **values)


def values(meeting: Meeting, id_: str) -> dict[str, Any]:
    decided = meeting.decided.get(id_)
    return {} if decided is None else decided.values


def doubts(meeting: Meeting) -> list[str]:
    return [conflict.message for conflict in meeting.conflicts]


def made(meeting: Meeting) -> Mapping[str, Entry]:
    return {entry.id: entry for entry in meeting.made}


def test_another_part_of_the_volume_is_simply_added() -> None:
    """One bench did leaf 14, the other leaf 15: nothing to settle; ids and order stay."""
    meeting = meet([VOLUME, TICKET], [VOLUME_THERE, POSTCARD_THERE], {})
    assert made(meeting)["i-there"] == POSTCARD_THERE
    assert made(meeting)["v-there"].status is Status.VOID
    assert meeting.taken_into == {"v-there": "v-here"}
    assert meeting.decided == {}
    assert meeting.conflicts == ()


def test_another_volume_stays_a_volume_of_its_own() -> None:
    """A near miss: another number, another name, another accession."""
    for other in (
        changed(VOLUME_THERE, volume="2", volume_name="the picnic album"),
        changed(VOLUME_THERE, accession="2031-008"),
    ):
        meeting = meet([VOLUME], [other], {})
        assert meeting.made == (other,)
        assert meeting.taken_into == {}


@pytest.mark.parametrize(
    ("field", "here", "there", "stands"),
    [
        ("binding", None, "post binding", "post binding"),
        ("binding", "post binding", None, "nothing new"),
        ("binding", "post binding", "post binding", "nothing new"),
        ("condition", ("detached board",), ("red rot",), ("detached board", "red rot")),
        ("condition", ("red rot",), ("red rot",), "nothing new"),
        ("images", (1, 2), (2, 3), (1, 2, 3)),
        ("remark", "ends gone", "from the attic", "ends gone; from the attic"),
        ("leaves", None, 24, 24),
    ],
)
def test_what_only_one_bench_said_of_a_volume_is_taken(
    field: str, here: Any, there: Any, stands: Any
) -> None:
    """Lists are united, remarks put one after the other."""
    meeting = meet(
        [changed(VOLUME, **{field: here})], [changed(VOLUME_THERE, **{field: there})], {}
    )
    wanted = {} if stands == "nothing new" else {field: stands}
    assert values(meeting, "v-here") == wanted
    assert meeting.conflicts == ()


@pytest.mark.parametrize(
    ("field", "here", "there", "said"),
    [
        ("binding", "post binding", "spiral binding", "binding: here 'post binding', at another "),
        ("leaves", 24, 23, "leaves: here 24, at another bench 23"),
        ("dimensions", (285.8, 355.6), (285.0, 355.6), "here 285.8 × 355.6 mm"),
        ("enclosure", "box 1", "box 2", "enclosure: here 'box 1', at another bench 'box 2'"),
    ],
)
def test_what_both_said_differently_is_doubted_and_ours_stays(
    field: str, here: Any, there: Any, said: str
) -> None:
    """Both values stand in the doubt, so that a person can choose."""
    meeting = meet(
        [changed(VOLUME, **{field: here})], [changed(VOLUME_THERE, **{field: there})], {}
    )
    assert values(meeting, "v-here") == {}
    (message,) = doubts(meeting)
    assert said in message
    assert [doubt.field for doubt in meeting.decided["v-here"].doubts] == [field]


def test_a_confirmed_entry_is_never_changed_only_doubted() -> None:
    """Also where it says nothing and the other bench does."""
    confirmed = changed(VOLUME, status=Status.CONFIRMED)
    meeting = meet([confirmed], [changed(VOLUME_THERE, leaves=24)], {})
    assert values(meeting, "v-here") == {}
    assert doubts(meeting) == ["leaves: here nothing, at another bench 24"]


class TestNamesOfAVolume:
    """A volume is the same by its number or by the donor's name."""

    def test_a_name_that_only_they_know_is_given_to_all_our_rows(self) -> None:
        """As if it had been said here: "volume one, the green book"."""
        here = [changed(VOLUME, volume_name=None), changed(TICKET, volume_name=None)]
        meeting = meet(here, [VOLUME_THERE, POSTCARD_THERE], {})
        assert values(meeting, "v-here") == values(meeting, "i-here")
        assert values(meeting, "v-here") == {"volume_name": "the green book"}
        assert made(meeting)["i-there"].volume_name == "the green book"

    def test_a_number_that_only_they_know_is_doubted_not_taken(self) -> None:
        """Marks on objects may carry ours already; their rows go under our name."""
        here = [changed(VOLUME, volume="green book"), changed(TICKET, volume="green book")]
        meeting = meet(here, [VOLUME_THERE, POSTCARD_THERE], {})
        assert made(meeting)["i-there"].volume == "green book"
        assert doubts(meeting) == ["volume: here 'green book', at another bench '1'"]

    def test_our_number_is_given_to_rows_that_only_had_the_name(self) -> None:
        """The other way round there is nothing to doubt but the label itself."""
        there = [changed(VOLUME_THERE, volume="Green-book"), POSTCARD_THERE]
        there[1] = changed(there[1], volume="Green-book")
        meeting = meet([VOLUME, TICKET], there, {})
        assert made(meeting)["i-there"].volume == "1"
        assert meeting.taken_into == {"v-there": "v-here"}


class TestTheSameSide:
    """Both benches logged one side: nobody but a person can tell whether twice the same."""

    def test_an_item_keeps_its_number_where_that_is_free_else_gets_the_next(self) -> None:
        """Both stand, and the newcomer is doubted."""
        there = changed(POSTCARD_THERE, leaf="14")
        meeting = meet([VOLUME, TICKET], [VOLUME_THERE, there], {})
        (item,) = [entry for entry in meeting.made if entry.kind is Kind.ITEM]
        assert item.item == 2
        assert doubts(meeting) == [
            "this side was logged at another bench too; here it has 1 ticket: is this one of them?"
        ]
        third = meet([VOLUME, TICKET], [VOLUME_THERE, changed(there, item=3)], {})
        assert made(third)["i-there"].item == 3

    def test_several_of_theirs_keep_their_order_and_no_two_share_a_number(self) -> None:
        """Each gets the next number."""
        there = [changed(POSTCARD_THERE, id=f"i{nth}", leaf="14", item=nth) for nth in (1, 2, 3)]
        meeting = meet([VOLUME, TICKET], [VOLUME_THERE, *there], {})
        numbers = [entry.item for entry in meeting.made if entry.kind is Kind.ITEM]
        assert sorted([1, *numbers]) == [1, 2, 3, 4]

    def test_a_mark_once_written_stays_and_a_second_one_alike_is_doubted(self) -> None:
        """What is pencilled on the object is not changed by a new number."""
        mark = "2031-007 vol. 1, 14r, 1"
        there = changed(POSTCARD_THERE, leaf="14", mark=mark)
        meeting = meet([VOLUME, changed(TICKET, mark=mark)], [VOLUME_THERE, there], {})
        assert made(meeting)["i-there"].mark == mark
        assert f"the mark '{mark}' is also on the ticket on leaf 14 recto" in doubts(meeting)

    def test_an_envelope_number_given_out_twice_is_doubted_a_box_is_not(self) -> None:
        """One envelope holds one thing, a box many."""
        here = [VOLUME, changed(TICKET, enclosure="envelope 7")]
        twice = meet(here, [VOLUME_THERE, changed(POSTCARD_THERE, enclosure="envelope 7")], {})
        assert doubts(twice) == ["envelope 7 is also in use for the ticket on leaf 14 recto"]
        boxed = [VOLUME, changed(TICKET, enclosure="box 1")]
        assert not meet(
            boxed, [VOLUME_THERE, changed(POSTCARD_THERE, enclosure="box 1")], {}
        ).conflicts

    def test_blank_here_and_an_item_there_is_doubted(self) -> None:
        """On the item that comes."""
        there = changed(POSTCARD_THERE, leaf="14")
        meeting = meet([VOLUME, BLANK], [VOLUME_THERE, there], {})
        assert doubts(meeting) == ["this side was said to be blank here"]

    def test_an_item_here_and_blank_there_is_doubted(self) -> None:
        """On the leaf entry that comes, or on ours if there is one."""
        there = changed(BLANK, id="l-there")
        meeting = meet([VOLUME, TICKET], [VOLUME_THERE, there], {})
        assert doubts(meeting) == ["said to be blank at another bench; here it has 1 item"]
        ours = changed(BLANK, blank=False, condition=("foxing",))
        meeting = meet([VOLUME, TICKET, ours], [VOLUME_THERE, there], {})
        assert "said to be blank at another bench; here it has 1 item" in doubts(meeting)

    def test_one_side_has_one_leaf_entry(self) -> None:
        """Theirs is taken into ours, and what points at it points at ours."""
        there = changed(BLANK, id="l-there", blank=False, condition=("foxing",))
        tied = changed(
            POSTCARD_THERE,
            relations=(Relation(kind=RelationKind.ATTACHED_TO, id="l-there"),),
        )
        ours = changed(BLANK, blank=False)
        meeting = meet([VOLUME, ours], [VOLUME_THERE, there, tied], {})
        assert values(meeting, "l-here") == {"condition": ("foxing",)}
        assert made(meeting)["i-there"].relations[0].id == "l-here"

    def test_what_was_confirmed_there_and_clashes_here_is_to_be_looked_at(self) -> None:
        """Whoever confirmed it did not know what we have."""
        there = changed(POSTCARD_THERE, leaf="14", status=Status.CONFIRMED)
        meeting = meet([VOLUME, TICKET], [VOLUME_THERE, there], {})
        assert made(meeting)["i-there"].status is Status.QUERIED
        alone = meet([VOLUME], [VOLUME_THERE, there], {})
        assert made(alone)["i-there"].status is Status.CONFIRMED


class TestTheSameBagAgain:
    """What has not changed since it was brought says nothing new."""

    def test_nothing_changed_nothing_comes(self) -> None:
        """Not even where ours was changed meanwhile."""
        here = changed(POSTCARD_THERE, caption="admit one", status=Status.CONFIRMED)
        meeting = meet([VOLUME, here], [POSTCARD_THERE], BEFORE)
        assert (meeting.made, meeting.decided, meeting.conflicts) == ((), {}, ())

    def test_what_only_they_changed_since_is_taken(self) -> None:
        """Field by field; our own changes stay."""
        here = changed(POSTCARD_THERE, caption="ours")
        there = changed(POSTCARD_THERE, adhesion="loose", item=2)
        meeting = meet([VOLUME, here], [there], BEFORE)
        assert values(meeting, "i-there") == {"adhesion": "loose", "item": 2}
        assert meeting.conflicts == ()

    def test_what_both_changed_differently_is_doubted(self) -> None:
        """Ours stays."""
        here = changed(POSTCARD_THERE, caption="ours")
        there = changed(POSTCARD_THERE, caption="theirs")
        meeting = meet([VOLUME, here], [there], BEFORE)
        assert values(meeting, "i-there") == {}
        assert doubts(meeting) == ["caption: here 'ours', at another bench 'theirs'"]

    @pytest.mark.parametrize("status", [Status.CONFIRMED, Status.VOID])
    def test_a_decision_made_there_is_followed_where_both_have_the_same_entry(
        self, status: Status
    ) -> None:
        """Not where ours is different: that is not what they decided about."""
        there = changed(POSTCARD_THERE, status=status)
        meeting = meet([VOLUME, POSTCARD_THERE], [there], BEFORE)
        assert values(meeting, "i-there") == {"status": status}
        ours = changed(POSTCARD_THERE, caption="ours")
        assert values(meet([VOLUME, ours], [there], BEFORE), "i-there") == {}

    def test_a_change_in_what_was_taken_into_ours_reaches_ours(self) -> None:
        """Their volume entry is void here; what they add to it is added to ours."""
        before = {"v-there": Brought(entry=VOLUME_THERE, into="v-here")}
        gone = changed(VOLUME_THERE, status=Status.VOID)
        meeting = meet([VOLUME, gone], [changed(VOLUME_THERE, leaves=24)], before)
        assert values(meeting, "v-here") == {"leaves": 24}
        assert values(meeting, "v-there") == {}

    def test_a_log_copied_and_gone_on_with_twice_is_compared_without_a_before(self) -> None:
        """The same ids on both sides: what only one has filled in is taken, the rest doubted."""
        here = changed(TICKET, caption="ours", date=None)
        there = changed(TICKET, caption="theirs", date="1952")
        meeting = meet([VOLUME, here], [VOLUME, there], {})
        assert values(meeting, "i-here") == {"date": "1952"}
        assert doubts(meeting) == ["caption: here 'ours', at another bench 'theirs'"]


sides = st.tuples(st.sampled_from(["1", "2"]), st.sampled_from(list(Side)))
captions = st.sampled_from([None, "one", "two"])


@st.composite
def logs(draw: st.DrawFn, prefix: str) -> list[Entry]:
    """A volume with some items, each side numbered from 1."""
    entries = [replace(VOLUME, id=f"{prefix}-v", leaves=draw(st.sampled_from([None, 2, 3])))]
    counts: dict[tuple[str, Side], int] = {}
    for nth, (leaf, side) in enumerate(draw(st.lists(sides, max_size=6))):
        counts[leaf, side] = counts.get((leaf, side), 0) + 1
        entries.append(
            replace(
                TICKET,
                id=f"{prefix}-{nth}",
                leaf=leaf,
                side=side,
                item=counts[leaf, side],
                caption=draw(captions),
            )
        )
    return entries


def applied(ours: list[Entry], meeting: Meeting) -> list[Entry]:
    stand = []
    for entry in ours:
        decided = meeting.decided.get(entry.id, Decided())
        doubted = (*entry.doubts, *decided.doubts)
        stand.append(replace(entry, **decided.values, doubts=doubted))
    return [*stand, *meeting.made]


@given(ours=logs("a"), theirs=logs("b"))
@settings(max_examples=200)
def test_nothing_is_lost_nothing_is_there_twice_and_numbers_are_unique(
    ours: list[Entry], theirs: list[Entry]
) -> None:
    """Every id of either log is there once; the items of a side have different numbers."""
    stand = applied(ours, meet(ours, theirs, {}))
    assert sorted(one.id for one in stand) == sorted(one.id for one in [*ours, *theirs])
    numbers = [(one.leaf, one.side, one.item) for one in stand if one.kind is Kind.ITEM]
    assert len(numbers) == len(set(numbers))
    captions_before = sorted(one.caption or "" for one in [*ours, *theirs])
    assert sorted(one.caption or "" for one in stand) == captions_before


@given(ours=logs("a"), theirs=logs("b"))
def test_bringing_the_same_again_changes_nothing(ours: list[Entry], theirs: list[Entry]) -> None:
    """Whatever the first time came to."""
    first = meet(ours, theirs, {})
    brought = {
        entry.id: Brought(entry=entry, into=first.taken_into.get(entry.id)) for entry in theirs
    }
    again = meet(applied(ours, first), theirs, brought)
    assert (again.made, again.decided, again.conflicts) == ((), {}, ())
