"""What a reviewer does to single entries, and what is refused."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from tests.review.desk import Desk
from voicelog.domain.entry import Review, Status
from voicelog.errors import (
    EntryChanged,
    EntryLocked,
    LogBusy,
    NothingToUndo,
    ReviewError,
    UsageError,
)
from voicelog.review.reviewer import Reviewer
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog


def test_a_value_typed_is_in_the_entry_with_its_author(desk: Desk) -> None:
    """The value is the stored form of what was typed; the old one stays on record."""
    done = desk.reviewer.set_value(desk.see("snapshot"), "date", "about nineteen sixty")
    snapshot = desk.the("snapshot")
    assert snapshot.entry.date == "1960~"
    origin = snapshot.entry.sources["date"]
    assert isinstance(origin, Review)
    assert (origin.by, origin.was) == ("Ida Marsh", "1952-06-04")
    assert done.changed == (snapshot.seen,)


def test_settling_the_doubtful_field_settles_the_doubt(desk: Desk) -> None:
    """An entry with no doubt left is heard, not queried."""
    desk.say("dated June fourth fifty three")
    before = desk.the("snapshot").entry
    assert before.status is Status.QUERIED
    desk.reviewer.set_value(desk.see("snapshot"), "date", "1953-06-04")
    after = desk.the("snapshot").entry
    assert (after.status, after.doubts) == (Status.HEARD, ())
    assert after.confidence > before.confidence


def test_confirmed_entries_are_locked_until_opened_again(desk: Desk) -> None:
    """A confirmed entry is certain and has no doubts."""
    desk.reviewer.confirm([desk.see("postcard"), desk.see("ticket")])
    postcard = desk.the("postcard")
    assert (postcard.entry.status, postcard.entry.confidence) == (Status.CONFIRMED, 1.0)
    with pytest.raises(EntryLocked, match="The postcard on leaf 14 recto is confirmed; open"):
        desk.reviewer.set_value(postcard.seen, "caption", "x")
    desk.reviewer.reopen(postcard.seen)
    desk.reviewer.set_value(desk.see("postcard"), "caption", "x")
    assert desk.the("postcard").entry.caption == "x"


def test_void_entries_come_back_when_restored(desk: Desk) -> None:
    """Void means out of sight, not gone."""
    desk.reviewer.void(desk.see("ticket"))
    assert "ticket" not in [kind for entry in desk.entries() for kind in entry.item_type]
    with pytest.raises(ReviewError, match="is void; restore it"):
        desk.reviewer.set_value(desk.see("ticket"), "caption", "x")
    desk.reviewer.restore(desk.see("ticket"))
    assert desk.the("ticket").entry.status is Status.HEARD


def test_whoever_saw_an_older_version_is_told_both_values(desk: Desk) -> None:
    """Nothing is overwritten silently; the second one decides with both values in sight."""
    seen = desk.see("snapshot")
    desk.another_reviewer("Tom Vale").set_value(seen, "date", "1953")
    with pytest.raises(EntryChanged, match="was changed by Tom Vale after you saw it") as caught:
        desk.reviewer.set_value(seen, "date", "1954")
    assert caught.value.present == {"date": "1953"}
    assert caught.value.wanted == {"date": "1954"}
    assert caught.value.version == desk.see("snapshot").version
    assert desk.the("snapshot").entry.date == "1953"


def test_an_act_on_several_entries_is_done_whole_or_not_at_all(desk: Desk) -> None:
    """One stale entry refuses the confirmation of all."""
    stale = desk.see("ticket")
    desk.another_reviewer("Tom Vale").set_value(stale, "caption", "admit one")
    with pytest.raises(EntryChanged, match="The ticket"):
        desk.reviewer.confirm([desk.see("postcard"), stale])
    assert desk.the("postcard").entry.status is not Status.CONFIRMED


@pytest.mark.parametrize("field", ["date", "caption", "condition", "action"])
def test_undo_restores_the_entry_exactly(desk: Desk, field: str) -> None:
    """Values, doubts and the words they came from; only the version has grown."""
    before = desk.the("snapshot")
    typed = {"date": "1960", "caption": "Quillhaven", "condition": "foxing; tear"}
    desk.reviewer.set_value(before.seen, field, typed.get(field, "detached"))
    assert desk.the("snapshot").entry != before.entry
    desk.reviewer.undo()
    after = desk.the("snapshot")
    assert after.entry == before.entry
    assert after.version > before.version


def test_undo_goes_back_act_by_act_and_only_over_this_session(desk: Desk) -> None:
    """Another person's acts are not ours to take back."""
    before = desk.the("ticket").entry
    desk.reviewer.set_value(desk.see("ticket"), "caption", "admit one")
    desk.reviewer.confirm([desk.see("ticket")])
    desk.another_reviewer("Tom Vale").void(desk.see("postcard"))
    desk.reviewer.undo()
    assert desk.the("ticket").entry.status is Status.HEARD
    desk.reviewer.undo()
    assert desk.the("ticket").entry == before
    with pytest.raises(NothingToUndo, match="nothing in this session"):
        desk.reviewer.undo()
    assert desk.the("postcard").entry.status is Status.VOID


def test_undo_is_refused_where_somebody_went_on(desk: Desk) -> None:
    """Taking back the older act would take back the newer one with it."""
    desk.reviewer.set_value(desk.see("ticket"), "caption", "admit one")
    desk.another_reviewer("Tom Vale").set_value(desk.see("ticket"), "caption", "admit two")
    with pytest.raises(EntryChanged, match="changed by Tom Vale"):
        desk.reviewer.undo()


def test_a_live_session_keeps_reviewers_out_with_a_sentence(desk: Desk) -> None:
    """The lock is held all the time there; here only while an act is done."""
    seen = desk.see("ticket")
    with (
        WritableLog.open_to_write(desk.folder, made_by="the bench"),
        pytest.raises(LogBusy, match="is writing to"),
    ):
        desk.reviewer.void(seen)
    desk.reviewer.void(seen)


def test_every_change_is_on_record(desk: Desk) -> None:
    """Who, when, before, after; the log refuses to forget it."""
    desk.reviewer.set_value(desk.see("ticket"), "caption", "admit one")
    with Log.open(desk.folder) as log:
        (row,) = log._database.query("SELECT * FROM revisions WHERE act IS NOT NULL")
    assert (row["by"], row["field"], row["before"], row["after"], row["reason"]) == (
        "Ida Marsh", "caption", "null", '"admit one"', "set",
    )  # fmt: skip


def test_two_reviewers_at_once_lose_nothing(desk: Desk) -> None:
    """Each act waits for the other's; every one of them is in the history."""
    failures: list[Exception] = []

    def work(by: str, item_type: str) -> None:
        reviewer = desk.another_reviewer(by)
        try:
            for number in range(1, 6):
                reviewer.set_value(desk.see(item_type), "quantity", str(number))
        except Exception as failure:  # noqa: BLE001 - told to the test
            failures.append(failure)

    pair = [
        threading.Thread(target=work, args=one)
        for one in (("Ida Marsh", "postcard"), ("Tom Vale", "ticket"))
    ]
    for thread in pair:
        thread.start()
    for thread in pair:
        thread.join()
    assert failures == []
    by = [line.by for line in desk.reviewer.history() if line.field == "quantity"]
    assert (by.count("Ida Marsh"), by.count("Tom Vale")) == (4, 4)


def test_a_log_that_is_not_there_is_not_begun(desk: Desk, tmp_path: Path) -> None:
    """A reviewer never makes a log."""
    reviewer = Reviewer(tmp_path / "nowhere", desk.reader, by="Ida Marsh", made_by="test")
    with pytest.raises(UsageError, match="is not there; name a log's folder"):
        reviewer.undo()
    assert not (tmp_path / "nowhere").exists()


def test_a_caution_is_shown_on_the_next_entry_when_its_first_one_goes(desk: Desk) -> None:
    """Each is shown once in a volume, and never lost with the entry that happened to show it."""
    desk.say("leaf twenty, a menu, mould", "a brochure, mould")
    assert (desk.the("menu").entry.cautions, desk.the("brochure").entry.cautions) == (
        ("mould",),
        (),
    )
    desk.reviewer.void(desk.see("menu"))
    assert desk.the("brochure").entry.cautions == ("mould",)
    assert desk.reread().changes == ()
    desk.reviewer.undo()
    assert (desk.the("menu").entry.cautions, desk.the("brochure").entry.cautions) == (
        ("mould",),
        (),
    )
    assert desk.reread().changes == ()
    desk.reviewer.set_value(desk.see("menu"), "condition", "tear")
    assert (desk.the("menu").entry.cautions, desk.the("brochure").entry.cautions) == (
        (),
        ("mould",),
    )
    assert desk.reread().changes == ()
