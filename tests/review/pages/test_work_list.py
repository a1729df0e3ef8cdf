"""What stands on the work list: pages of whole leaves, counts that are right, marked words."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.review.pages.large_log import make_large_log
from voicelog.domain.entry import Side, Status
from voicelog.domain.note import Span
from voicelog.review.pages.rows import cut_text
from voicelog.review.pages.visible_text import make_visible
from voicelog.review.pages.wanted import safe_back
from voicelog.review.pages.work_pages import ROWS_ON_A_PAGE, choose_page, cut_into_pages
from voicelog.store.selection import Order, Selection, VolumeKey
from voicelog.store.worklist import Placed, WorkListLog

ENTRIES = 1300
VOLUME = VolumeKey(accession="2031-007", volume="1")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> WorkListLog:
    folder: Path = tmp_path_factory.mktemp("large") / "log"
    make_large_log(folder, ENTRIES)
    return WorkListLog.open(folder)


class TestCounts:
    """A count is what one would count by hand."""

    @pytest.mark.parametrize(
        "selection",
        [
            Selection(),
            Selection(volume=VOLUME),
            Selection(volume=VOLUME, leaf="3"),
            Selection(status=Status.QUERIED),
            Selection(doubted_field="condition"),
            Selection(doubted_field="date"),
            Selection(handler="Hazel Wren", day="2031-05-02"),
            Selection(caution="mould"),
            Selection(ids=frozenset({"entry-1", "entry-9", "elsewhere"})),
        ],
    )
    def test_agree_with_the_list(self, log: WorkListLog, selection: Selection) -> None:
        listed = log.place_entries(selection)
        tally = log.tally(selection)
        if selection.status is None:
            assert len(listed) == sum(tally.statuses.values()) - tally.statuses[Status.VOID]
        for status in (Status.HEARD, Status.QUERIED):
            if selection.status in {None, status}:
                assert tally.statuses[status] == sum(each.status is status for each in listed)

    @pytest.mark.parametrize(
        "selection",
        [
            Selection(),
            Selection(volume=VOLUME),
            Selection(handler="Hazel Wren"),
            Selection(handler="Hazel Wren", day="2031-05-02", doubted_field="condition"),
            Selection(volume=VOLUME, status=Status.QUERIED, doubted_field="condition"),
            Selection(caution="mould", status=Status.HEARD),
            Selection(status=Status.VOID),
            Selection(words="weir"),
        ],
    )
    def test_of_a_filter_say_what_it_would_leave(
        self, log: WorkListLog, selection: Selection
    ) -> None:
        tally = log.tally(selection)
        for name, choices in (
            ("doubted_field", tally.doubted_fields),
            ("caution", tally.cautions),
            ("handler", tally.handlers),
            ("day", tally.days),
        ):
            for choice in choices:
                filtered = replace(selection, **{name: choice.value})
                assert choice.count == len(log.place_entries(filtered)) > 0
        for status, count in tally.statuses.items():
            assert count == len(log.place_entries(replace(selection, status=status)))

    def test_of_volumes_and_sides_add_up(self, log: WorkListLog) -> None:
        volumes = log.volumes()
        assert sum(chain.from_iterable(v.entries.values() for v in volumes)) == ENTRIES
        sides = log.sides(VOLUME)
        assert sum(s.heard + s.queried + s.confirmed for s in sides) == sum(
            volumes[0].entries.values()
        )

    def test_doubtful_ones_come_first_when_asked_for(self, log: WorkListLog) -> None:
        listed = log.place_entries(
            Selection(), order=Order.DOUBTFUL_FIRST, also_first=frozenset({"entry-700"})
        )
        first = list(listed[: ENTRIES // 10 + 1])
        assert {each.status for each in first if each.id != "entry-700"} == {Status.QUERIED}
        assert "entry-700" in {each.id for each in first}

    def test_entries_come_in_the_order_asked_for(self, log: WorkListLog) -> None:
        found = log.read_entries(["entry-30", "elsewhere", "entry-2"])
        assert [(one.entry.id, one.number) for one in found] == [("entry-30", 31), ("entry-2", 3)]
        assert set(found[0].entry.sources) == {"item_type", "attachment", "condition", "leaf"}


def placed(number: int, leaf: int) -> Placed:
    return Placed(
        id=str(number), volume=VOLUME, leaf=str(leaf), side=Side.RECTO, status=Status.HEARD
    )


class TestPages:
    """Whole leaves, and never a page too many."""

    @given(st.lists(st.integers(min_value=1, max_value=90), max_size=30))
    def test_no_leaf_is_torn_apart_and_no_entry_lost(self, sizes: list[int]) -> None:
        entries = [
            placed(1000 * leaf + nth, leaf)
            for leaf, size in enumerate(sizes)
            for nth in range(size)
        ]
        pages = cut_into_pages(entries)
        assert list(chain.from_iterable(pages)) == entries
        leaves = [{each.leaf for each in page} for page in pages]
        assert sum(map(len, leaves)) == len(set().union(*leaves))
        assert all(len(page) >= ROWS_ON_A_PAGE for page in pages[:-1])

    def test_an_empty_list_has_one_page(self) -> None:
        assert cut_into_pages([]) == ((),)

    @pytest.mark.parametrize(
        ("asked", "shown"),
        [({"number": 2}, 2), ({"number": 99}, 3), ({"number": -5}, 1), ({"id_": "85"}, 3),
         ({"place": ("1", Side.RECTO)}, 2), ({"place": ("1", Side.VERSO)}, 1), ({"id_": "x"}, 1)],
    )  # fmt: skip
    def test_the_page_asked_for_is_shown(self, asked: dict[str, object], shown: int) -> None:
        entries = [placed(number, number // 40) for number in range(100)]
        page = choose_page(entries, order=Order.BOOK, **asked)  # type: ignore[arg-type]
        assert (page.number, page.of, page.total) == (shown, 3, 100)


class TestHeardText:
    """The words that gave a value are marked; no letter is lost."""

    @given(
        st.text(max_size=60),
        st.lists(
            st.tuples(
                st.sampled_from(["date", "caption", "condition"]),
                st.integers(min_value=-5, max_value=70),
                st.integers(min_value=-5, max_value=70),
            ),
            max_size=6,
        ),
    )
    def test_pieces_joined_are_the_text(self, text: str, spans: list[tuple[str, int, int]]) -> None:
        pieces = cut_text(
            text,
            [(name, Span(note=1, text="", first=first, last=last)) for name, first, last in spans],
        )
        assert "".join(piece.text for piece in pieces) == text

    def test_words_can_give_two_values(self) -> None:
        rusted = [
            ("attachment", Span(note=1, text="rusted staple", first=2, last=15)),
            ("condition", Span(note=1, text="rusted", first=2, last=8)),
        ]
        pieces = cut_text("a rusted staple", rusted)
        assert [piece.fields for piece in pieces] == [
            (),
            ("attachment", "condition"),
            ("attachment",),
        ]

    @given(st.text())
    def test_nothing_that_hides_is_left(self, text: str) -> None:
        shown = make_visible(text)
        assert not any(ord(each) < 0x20 or 0x202A <= ord(each) <= 0x202E for each in shown)


@given(st.text())
def test_the_way_back_stays_on_this_site(address: str) -> None:
    back = safe_back(address)
    assert back.startswith("/")
    assert not back.startswith(("//", "/\\"))
    assert back.isprintable()


class TestLongLists:
    """Stretches that are found by their indexes are those of the list gone through as a whole."""

    @pytest.mark.parametrize("order", list(Order))
    @pytest.mark.parametrize(
        "selection",
        [
            Selection(),
            Selection(status=Status.QUERIED),
            Selection(status=Status.VOID),
            Selection(doubted_field="condition"),
            Selection(doubted_field="date"),
            Selection(caution="mould"),
            Selection(handler="Hazel Wren"),
            Selection(day="2031-05-02"),
            Selection(handler="Hazel Wren", day="2031-05-02", doubted_field="condition"),
            Selection(leaf="3"),
        ],
    )
    def test_are_the_same_entries_in_the_same_order(
        self, log: WorkListLog, selection: Selection, order: Order
    ) -> None:
        whole = log.place_entries(selection, order=order)
        stretches = [
            log.place_some(selection, order=order, first=first, most=100)
            for first in range(0, len(whole) + 100, 100)
        ]
        assert tuple(chain.from_iterable(stretches)) == whole
        assert log.count_some(selection, most=10_000) == len(whole)
        for before in range(0, len(whole), 37):
            assert log.count_before(selection, whole[before].id, order=order) == before
        assert log.count_before(selection, "elsewhere", order=order) is None

    def test_are_not_counted_to_their_end(self, log: WorkListLog) -> None:
        both = Selection(status=Status.HEARD, handler="Ida Marsh")
        assert log.count_some(both, most=7) == 7

    def test_have_the_same_counts_beside_them(self, log: WorkListLog) -> None:
        assert log.tally_some(Selection()) == log.tally(Selection())

    def test_volumes_are_listed_around_the_one_that_is_shown(self, log: WorkListLog) -> None:
        everything = log.volumes()
        for place, volume in enumerate(everything):
            assert log.count_volumes_before(volume.key) == place
            assert log.find_summary(volume.key) == volume
        assert log.volumes(first=1, most=1) == everything[1:2]
        assert log.find_summary(VolumeKey(accession="elsewhere", volume=None)) is None

    def test_words_narrow_a_list(self, log: WorkListLog) -> None:
        found = log.place_entries(Selection(words="clippings yellowed", volume=VOLUME))
        assert len(found) == log.volumes()[0].entries[Status.HEARD] + 60
        assert log.place_entries(Selection(words="weir")) == ()
        assert sum(log.tally(Selection(words="weir")).statuses.values()) == 0
