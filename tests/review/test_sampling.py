"""The blind sample, the verdicts, and the error rate with its interval."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from tests.review.desk import Desk
from voicelog.domain.error_rate import ErrorRate, wilson_interval
from voicelog.errors import ReviewError
from voicelog.review.sampling import draw_entries


@pytest.mark.parametrize(
    ("wrong", "judged"), [(0, 1), (0, 20), (1, 20), (3, 40), (7, 150), (10, 10), (50, 1000)]
)
def test_the_interval_is_the_one_that_scipy_computes(wrong: int, judged: int) -> None:
    """Reference: scipy.stats.binomtest(...).proportion_ci(method="wilson")."""
    reference = binomtest(wrong, judged).proportion_ci(confidence_level=0.95, method="wilson")
    low, high = wilson_interval(wrong, judged)
    assert low == pytest.approx(reference.low, abs=1e-12)
    assert high == pytest.approx(reference.high, abs=1e-12)


def test_the_interval_is_that_of_a_published_example() -> None:
    """Newcombe, Statistics in Medicine 17 (1998), table I, method 3 (from memory): 81 of 263."""
    low, high = wilson_interval(81, 263)
    assert (round(low, 4), round(high, 4)) == (0.2553, 0.3662)


def test_before_anything_is_judged_nothing_is_claimed() -> None:
    """No rate, and an interval that says so."""
    nothing = ErrorRate(judged=0, wrong=0, waiting=3)
    assert (nothing.rate, nothing.interval) == (None, (0.0, 1.0))


def test_the_same_draw_comes_out_on_any_machine() -> None:
    """It depends on the seed and the ids, not on their order or on a generator's version."""
    ids = [f"e-{number}" for number in range(100)]
    drawn = draw_entries(ids, 5, seed="log/1")
    assert drawn == draw_entries(ids[::-1], 5, seed="log/1")
    assert drawn == ["e-66", "e-2", "e-85", "e-30", "e-41"]
    assert drawn != draw_entries(ids, 5, seed="log/2")


def test_what_is_done_with_a_sampled_entry_is_the_verdict(desk: Desk) -> None:
    """Confirmed as it is: right. Changed, or void: wrong, by field."""
    desk.reviewer.sampling.draw(percent=100)
    assert len(desk.reviewer.sampling.waiting()) == len(desk.entries()) == 5
    desk.reviewer.confirm([desk.see("postcard")])
    desk.reviewer.set_value(desk.see("snapshot"), "date", "1953")
    desk.reviewer.confirm([desk.see("snapshot")])
    desk.reviewer.void(desk.see("ticket"))
    rate = desk.reviewer.sampling.error_rate()
    assert (rate.judged, rate.wrong, rate.waiting) == (3, 2, 2)
    assert dict(rate.fields) == {"date": 1, "status": 1}
    assert rate.rate == pytest.approx(2 / 3)
    desk.reviewer.undo()
    assert desk.reviewer.sampling.error_rate().judged == 2


def test_a_value_typed_again_as_it_was_is_no_error(desk: Desk) -> None:
    """Only what changed was wrong."""
    desk.reviewer.sampling.draw(percent=100)
    desk.reviewer.set_value(desk.see("snapshot"), "date", "4 June 1952")
    desk.reviewer.confirm([desk.see("snapshot")])
    rate = desk.reviewer.sampling.error_rate()
    assert (rate.judged, rate.wrong) == (1, 0)


def test_sampled_entries_are_not_confirmed_in_bulk(desk: Desk) -> None:
    """They wait for a person; the act says how many."""
    desk.reviewer.sampling.draw(percent=5)
    (waiting,) = desk.reviewer.sampling.waiting()
    done = desk.reviewer.confirm_undoubted("2031-007", "1")
    assert done.remarks == ("1 entry waits to be looked at one by one.",)
    assert waiting.entry.id not in {one.entry for one in done.changed}
    assert len(done.changed) == 4


def test_no_entry_is_drawn_twice(desk: Desk) -> None:
    """When all were drawn there is nothing left."""
    desk.reviewer.sampling.draw(percent=50)
    desk.reviewer.sampling.draw(percent=100)
    with pytest.raises(ReviewError, match="no undoubted entries to draw"):
        desk.reviewer.sampling.draw(percent=5)
    assert len(desk.reviewer.sampling.waiting()) == 5


def test_a_volume_signed_off_is_locked_until_somebody_says_why(desk: Desk) -> None:
    """Signing needs every entry confirmed; who unlocked it and why is kept."""
    with pytest.raises(ReviewError, match="Volume 1 of 2031-007 has 5 entries that are not conf"):
        desk.reviewer.sign_off("2031-007", "1")
    desk.reviewer.confirm_undoubted("2031-007", "1")
    desk.reviewer.sign_off("2031-007", "1")
    with pytest.raises(ReviewError, match="was signed off by Ida Marsh on"):
        desk.reviewer.reopen(desk.see("ticket"))
    with pytest.raises(ReviewError, match="Say why"):
        desk.reviewer.unlock("2031-007", "1", why=" ")
    desk.another_reviewer("Tom Vale").unlock("2031-007", "1", why="a page was found")
    desk.reviewer.reopen(desk.see("ticket"))
    (signature,) = desk.reviewer.signatures()
    assert (signature.by, signature.unlocked_by, signature.unlocked_why) == (
        "Ida Marsh", "Tom Vale", "a page was found",
    )  # fmt: skip
