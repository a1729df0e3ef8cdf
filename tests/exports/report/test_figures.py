"""The figures of a report are those that one counts by hand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest

from tests.exports.report.samples import BLANK, ENTRIES, NOTES, TICKET, VOLUME, material, spoken
from voicelog.checks.volumes import group_volumes
from voicelog.domain.entry import Entry
from voicelog.exports.report.figures import Tally, count_figures
from voicelog.exports.report.leaf_map import SideState, make_leaf_map
from voicelog.exports.report.material import Period
from voicelog.exports.report.timing import BenchTime, LeafClock, sum_up_time
from voicelog.store.note_log import NoteTime


def counted(tally: Tally) -> dict[str, int]:
    return {one.name: one.number for one in tally.counts}


def measured(notes: Iterable[NoteTime], entries: Iterable[Entry]) -> BenchTime:
    clock = LeafClock()
    for volume in group_volumes(entries):
        clock.know(volume)
    clock.measure(notes)
    return sum_up_time([clock])


def test_the_first_page_counts_what_is_there() -> None:
    """Three leaves and the four sides of the covers are ten sides."""
    totals = material().figures.totals
    assert totals.volumes == 1
    assert (totals.sides, totals.sides_expected) == (4, 10)
    assert (totals.items, totals.pieces) == (3, 5)
    assert (totals.off, totals.enclosed, totals.missing) == (1, 1, 0)
    assert (totals.entries, totals.confirmed, totals.queried) == (5, 3, 1)
    assert (totals.restricted, totals.notes, totals.struck) == (1, 5, 1)
    assert totals.recorded_s == 66.0


def test_terms_are_counted_the_most_frequent_first() -> None:
    """Equal ones by name, so that the same log always gives the same report."""
    figures = material().figures
    assert list(counted(figures.item_types).items()) == [
        ("postcard", 1),
        ("report card", 1),
        ("ticket", 1),
    ]
    assert list(counted(figures.conditions).items()) == [("yellowed", 3), ("tear", 1)]
    assert counted(figures.adhesions) == {"loose": 1}
    assert counted(figures.actions) == {"detached": 1, "enclosed": 1}
    assert counted(figures.doubts) == {"item type": 1}
    assert counted(figures.corrections) == {"caption": 2, "item type": 1}
    assert figures.changed_by_reading == 4


def test_one_envelope_with_two_items_in_it_is_one_envelope() -> None:
    """What is used is counted, not what is said."""
    two = replace(TICKET, id="two", item=3)
    other = replace(TICKET, id="other", item=4, enclosure="envelope 8")
    figures = material(VOLUME, TICKET, two, other).figures
    assert counted(figures.enclosures) == {"envelope": 2}


def test_the_leaf_map_shows_the_least_settled_entry_of_each_side() -> None:
    """A doubt outweighs everything; blank both sides is two blank sides."""
    (volume,) = group_volumes(ENTRIES)
    cells = {
        f"{cell.place.leaf} {cell.place.side or ''}".strip(): cell
        for cell in make_leaf_map(volume, same={}).cells
    }
    assert cells["1 recto"].state is SideState.DOUBTFUL
    assert (cells["1 recto"].items, cells["1 recto"].has_loose) == (2, True)
    assert cells["1 verso"].state is SideState.UNSEEN
    assert cells["2 recto"].state is cells["2 verso"].state is SideState.BLANK
    assert cells["3 recto"].state is SideState.HEARD
    (confirmed,) = group_volumes([VOLUME, TICKET])
    (side,) = [one for one in make_leaf_map(confirmed, same={}).cells if one.items]
    assert side.state is SideState.CONFIRMED


class TestTimePerLeaf:
    """A leaf's time runs from its first note to the first note of the next leaf."""

    def test_it_is_measured_by_the_sound(self) -> None:
        """Leaf 1 from 10 s to 50 s, leaf 2 to 60 s, leaf 3 to the end of its note."""
        time = measured(NOTES, ENTRIES)
        assert [(one.leaf, one.seconds) for one in time.longest] == [("1", 40), ("2", 10), ("3", 6)]
        assert time.leaves == 3
        assert time.median_s == 10
        assert time.total_s == 56

    @pytest.mark.parametrize(
        ("second", "seconds"),
        [
            (spoken(4, 900, 902), 4 + 2),  # a long silence
            (spoken(4, 30, 32, recording="evening.flac"), 4 + 2),  # another recording
            (spoken(4, 30, 32), 20 + 2),
        ],
    )
    def test_a_break_counts_for_no_leaf(self, second: NoteTime, seconds: float) -> None:
        """Only the notes on either side of it do."""
        time = measured([spoken(2, 10, 14), second], [TICKET, replace(BLANK, leaf="1")])
        assert time.total_s == seconds

    def test_typed_notes_say_nothing_about_it(self) -> None:
        """There is no median of nothing."""
        typed = replace(spoken(2, 0, 0), recording=None, start_s=None, end_s=None)
        assert measured([typed], [TICKET]).median_s is None


@pytest.mark.parametrize(
    ("first", "last", "moment", "inside"),
    [
        (None, None, None, True),
        ("2031-05-12", None, None, False),
        ("2031-05-12", "2031-05-12", "2031-05-12T23:59:59+01:00", True),
        ("2031-05-13", None, "2031-05-12T23:59:59+01:00", False),
        (None, "2031-05-11", "2031-05-12T00:00:00+01:00", False),
    ],
)
def test_a_period_has_its_first_and_its_last_day(
    first: str | None, last: str | None, moment: str | None, *, inside: bool
) -> None:
    """Days are meant as they stand in the note, on the clock of the bench."""
    first_day, last_day = (day and date.fromisoformat(day) for day in (first, last))
    period = Period(first=first_day or None, last=last_day or None)
    assert period.holds(moment) is inside


def test_nothing_logged_is_a_report_with_nothing_in_it() -> None:
    """No division by nothing."""
    assert count_figures([]).totals.entries == 0
