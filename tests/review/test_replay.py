"""Notes read again, and more notes: what a person decided stays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.review.desk import Desk
from voicelog.domain.entry import Entry, Kind, Review, Status
from voicelog.errors import ReviewError
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.session.rereading import Outcome
from voicelog.vocabulary import load_vocabulary


def test_a_spoken_correction_of_a_confirmed_entry_becomes_a_doubt(desk: Desk) -> None:
    """The note is kept, the entry stays as it is, and whoever reviews sees the conflict."""
    desk.reviewer.confirm([desk.see("snapshot")])
    before = desk.the("snapshot").entry
    desk.say("correction, dated nineteen sixty")
    after = desk.the("snapshot").entry
    assert (after.date, after.status) == (before.date, Status.CONFIRMED)
    assert [doubt.message for doubt in after.doubts] == [
        "note 10 says otherwise, after this was decided: date 1960"
    ]
    assert desk.reread().changes == ()
    desk.reviewer.confirm([desk.see("snapshot")])
    assert desk.the("snapshot").entry.doubts == ()
    assert desk.reread().changes == ()


def test_a_later_note_does_not_change_a_reviewed_value(desk: Desk) -> None:
    """The entry is queried; other values are taken as said."""
    desk.reviewer.set_value(desk.see("snapshot"), "date", "1953")
    desk.say("dated nineteen sixty", "yellowed")
    after = desk.the("snapshot").entry
    assert (after.date, after.condition, after.status) == ("1953", ("yellowed",), Status.QUERIED)
    assert "says otherwise" in after.doubts[0].message


def test_striking_a_note_does_not_undo_a_review(desk: Desk) -> None:
    """What the struck note gave goes, what the person decided stays."""
    desk.reviewer.set_value(desk.see("snapshot"), "caption", "Quillhaven")
    desk.say("strike that")
    after = desk.the("snapshot").entry
    assert (after.caption, after.status) == ("Quillhaven", Status.QUERIED)
    assert after.doubts[-1].message == (
        "note 9, behind this entry, was struck after it was decided"
    )


def test_items_made_by_review_count_for_the_notes_that_follow(desk: Desk) -> None:
    """The next item on the side gets the next number; a void one is no longer meant."""
    desk.reviewer.add("a menu", beside=desk.the("snapshot").entry.id)
    desk.say("a brochure")
    assert desk.the("brochure").entry.item == 3
    desk.reviewer.void(desk.see("brochure"))
    desk.say("yellowed")
    assert desk.the("menu").entry.condition == ("yellowed",)
    assert desk.the("brochure").entry.condition == ()


def test_an_act_taken_back_leaves_no_trace_in_a_rereading(desk: Desk) -> None:
    """Also when notes came in between."""
    before = desk.the("postcard").entry
    desk.reviewer.set_value(desk.see("postcard"), "condition", "foxing")
    desk.reviewer.undo()
    assert desk.reread().changes == ()
    desk.reviewer.set_value(desk.see("postcard"), "condition", "foxing")
    desk.say("leaf sixteen, blank")
    desk.reviewer.undo()
    assert desk.the("postcard").entry == before
    assert desk.reread().changes == ()


def test_a_new_vocabulary_reads_around_what_was_decided(tmp_path: Path, desk: Desk) -> None:
    """Values change, but not decided ones; what was confirmed is named and kept."""
    desk.say("a menu, freckled", "a brochure, freckled", "a letter, freckled")
    desk.reviewer.set_value(desk.see("menu"), "remark", "")
    desk.reviewer.set_value(desk.see("menu"), "condition", "tear")
    desk.reviewer.confirm([desk.see("brochure")])
    terms = tmp_path / "condition.toml"
    terms.write_text(
        'field = "condition"\n[[concept]]\nid = "foxing"\nterm = "foxing"\n'
        'variants = ["freckled"]\n'
    )
    desk.reader = Reader(load_vocabulary(terms), ReadingOptions(repair_mishearings=False))
    rereading = desk.say()
    assert desk.the("letter").entry.condition == ("foxing",)
    assert desk.the("menu").entry.condition == ("tear",)
    assert desk.the("brochure").entry.condition == ()
    kept = [change for change in rereading.changes if change.outcome is Outcome.KEPT]
    assert [change.entry.item_type for change in kept] == [("brochure",)]
    assert desk.reread().changed == 0


NOTES = (
    "a postcard, photo corners", "yellowed", "a ticket, loose", "came off", "verso",
    "next leaf", "correction, torn", "strike that", "dated nineteen fifty", "blank",
    "goes in envelope four", "a menu and a brochure", "both lifting", "number on the back",
    "leaf fourteen recto", "correction, leaf fifteen", "mould", "check this",
)  # fmt: skip
TYPED = {
    "date": ("1951", "about 1960", ""),
    "caption": ("admit one", ""),
    "condition": ("foxing; tear", "mould", ""),
    "attachment": ("staple", "cellophane tape"),
    "enclosure": ("envelope 9", "box 1"),
    "action": ("detached", "left in place; inscribed"),
    "quantity": ("3",),
    "leaf": ("15 verso", "14r"),
    "item": ("1", "2"),
    "accession": ("2031-008",),
    "volume": ("2",),
}
ACTS = (
    "set", "set", "set", "confirm", "void", "restore", "reopen", "split", "merge", "add", "undo",
    "alike", "confirm undoubted",
)  # fmt: skip


Choose = Callable[[Sequence[Any]], Any]
"""Picks one of several things."""


class Chance:
    """Somebody who says and does anything, in any order.

    Args:
        desk: where it happens.
        choose: decides what is done next.
    """

    def __init__(self, desk: Desk, choose: Choose) -> None:
        self.desk = desk
        self.choose = choose

    def do_something(self) -> None:
        if self.choose((False, False, True)):
            self.desk.say(self.choose(NOTES), self.choose(NOTES))
            return
        kind = self.choose(ACTS)
        try:
            self._act(kind)
        except ReviewError:
            return

    def _act(self, kind: str) -> None:
        reviewer = self.desk.reviewer
        entry = self._any()
        seen = reviewer.read(entry.id).seen
        match kind:
            case "set":
                field = self.choose(sorted(TYPED))
                reviewer.set_value(seen, field, self.choose(TYPED[field]))
            case "split":
                reviewer.split(seen, {"item_type": "letter", "caption": "apart"})
            case "merge":
                reviewer.merge(seen, reviewer.read(self._any().id).seen)
            case "add":
                reviewer.add("a letter, torn, came off", beside=entry.id)
            case "undo":
                self._undo()
            case "alike":
                reviewer.set_alike(reviewer.preview_alike(entry.id, "leaf", "20"))
            case "confirm undoubted":
                reviewer.confirm_undoubted(entry.accession, entry.volume)
            case "confirm":
                reviewer.confirm([seen])
            case _:
                getattr(reviewer, kind)(seen)

    def _undo(self) -> None:
        """An act and its undoing together change nothing."""
        before = self.desk.entries(include_void=True)
        seen = self.desk.reviewer.read(before[0].id).seen
        if before[0].status is Status.CONFIRMED:
            self.desk.reviewer.reopen(seen)
        else:
            self.desk.reviewer.set_value(seen, "caption", "x")
        self.desk.reviewer.undo()
        assert self.desk.entries(include_void=True) == before

    def _any(self) -> Entry:
        return self.choose(self.desk.entries(include_void=True))


def decided(entries: list[Entry]) -> dict[tuple[str, str], Any]:
    """Everything that a person decided: entry and field to the value."""
    found: dict[tuple[str, str], Any] = {}
    for entry in entries:
        is_closed = entry.status in {Status.CONFIRMED, Status.VOID}
        for name, origin in entry.sources.items():
            is_value = name != "notes" and (name != "status" or is_closed)
            if isinstance(origin, Review) and is_value:
                found[entry.id, name] = getattr(entry, name)
        if entry.status is Status.CONFIRMED:
            found[entry.id, "all"] = replace(entry, doubts=(), notes=())
    return found


@settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(data=st.data())
def test_whatever_is_done_replay_gives_it_again_and_notes_take_nothing_back(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory, reader: Reader
) -> None:
    """Random notes and acts: a replay changes nothing, and no note undoes a decision."""
    folder = tmp_path_factory.mktemp("any") / "log"
    check_anything(
        Desk(folder, reader), lambda options: data.draw(st.sampled_from(options)), steps=6
    )


def check_anything(desk: Desk, choose: Choose, *, steps: int) -> None:
    """Do anything with a log, and see that nothing which was decided gets lost."""
    desk.say("accession 2031-007", "volume one", "leaf fourteen recto", "a postcard", "a ticket")
    chance = Chance(desk, choose)
    for _ in range(steps):
        chance.do_something()
    before = desk.entries(include_void=True)
    assert desk.reread().changes == ()
    wanted = decided(before)
    desk.say(choose(NOTES), choose(NOTES), choose(NOTES))
    after = desk.entries(include_void=True)
    assert {key: decided(after).get(key) for key in wanted} == wanted
    assert desk.reread().changes == ()
    marks = [entry.mark for entry in after if entry.mark and entry.status is not Status.VOID]
    assert len(marks) == len(set(marks))
    items = [
        (entry.accession, entry.volume, entry.leaf, entry.side, entry.item)
        for entry in after
        if entry.kind is Kind.ITEM and entry.status is not Status.VOID
    ]
    assert len(items) == len(set(items))
