"""Rereading: what comes out differently, and what a person decided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from voicelog.domain.entry import Doubt, Entry, Kind, Review, Side, Status
from voicelog.domain.note import Note, Span
from voicelog.domain.utterance import Utterance
from voicelog.session.rereading import Outcome, Rereading, compare, reread
from voicelog.session.scribe import Scribe
from voicelog.store.connection import connect_to_read
from voicelog.store.writing import Understanding, WritableLog
from voicelog.testing import PlainLogbook

BY_HER = Review(by="Ida", at="2031-05-02T17:00:00+01:00", was=["tear"])


def entry(name: str, **facts: object) -> Entry:
    base: dict[str, object] = {
        "id": name,
        "kind": Kind.ITEM,
        "leaf": "4",
        "side": Side.RECTO,
        "item_type": ("postcard",),
    }
    return Entry(**{**base, **facts})  # type: ignore[arg-type]


def held_against(stored: Sequence[Entry], fresh: Sequence[Entry]) -> Rereading:
    return compare(
        tuple(enumerate(stored, start=1)), tuple(fresh), notes=len(stored), struck=frozenset()
    )


def outcomes(
    rereading: Rereading,
) -> list[tuple[str, int | None, dict[str, tuple[object, object]]]]:
    return [
        (
            str(change.outcome),
            change.number,
            {field.field: (field.before, field.after) for field in change.fields},
        )
        for change in rereading.changes
    ]


def test_the_same_reading_changes_nothing() -> None:
    """Void entries that stay void are no change either."""
    entries = [entry("a"), entry("b", status=Status.VOID)]
    rereading = held_against(entries, entries)
    assert (rereading.changes, rereading.changed, rereading.kept) == ((), 0, 0)


def test_a_value_that_differs_is_shown_before_and_after() -> None:
    """As entry records write it."""
    doubted = entry(
        "a", remark="freckled", status=Status.QUERIED, doubts=(Doubt(message="not understood"),)
    )
    rereading = held_against([doubted], [entry("a", condition=("foxing",))])
    assert outcomes(rereading) == [
        (
            "changed",
            1,
            {
                "condition": ([], ["foxing"]),
                "remark": ("freckled", None),
                "status": ("queried", "heard"),
                "doubts": (["not understood"], []),
            },
        )
    ]


def test_entries_come_and_go() -> None:
    """What no note gives any more is void, never removed; what was void at once is no news."""
    rereading = held_against(
        [entry("a"), entry("gone"), entry("struck")],
        [entry("a"), entry("new"), entry("struck", status=Status.VOID),
         entry("never", status=Status.VOID)],
    )  # fmt: skip
    assert [(change.outcome, change.number) for change in rereading.changes] == [
        (Outcome.NEW, None),
        (Outcome.VOID, 3),
        (Outcome.VOID, 2),
    ]
    assert rereading.understanding.order == ("a", "new", "struck", "never")


def test_only_the_words_behind_a_value_changed() -> None:
    """That is a change as well, without a field."""
    spoken = MappingProxyType({"item_type": (Span(note=1, text="card", first=2, last=6),)})
    rereading = held_against([entry("a")], [entry("a", sources=spoken)])
    assert outcomes(rereading) == [("changed", 1, {})]


def test_a_confirmed_entry_stays_and_is_told() -> None:
    """Its status, confidence and doubts are settled; they are no reason to tell."""
    confirmed = entry("a", status=Status.CONFIRMED, condition=("tear",))
    rereading = held_against([confirmed], [entry("a", condition=("foxing",))])
    assert outcomes(rereading) == [("kept", 1, {"condition": (["tear"], ["foxing"])})]
    assert (rereading.changed, rereading.kept) == (0, 1)
    assert rereading.understanding.changed == (confirmed,)
    settled = entry("a", condition=("tear",), doubts=(Doubt(message="far"),), confidence=0.5)
    assert held_against([confirmed], [settled]).changes == ()


def test_a_confirmed_entry_that_no_note_gives_any_more_keeps_its_place() -> None:
    """Between the entries that stood around it."""
    stored = [entry("a"), entry("b", status=Status.CONFIRMED), entry("c")]
    rereading = held_against(stored, [entry("a"), entry("c")])
    assert outcomes(rereading) == [("kept", 2, {"status": ("confirmed", "void")})]
    assert rereading.understanding.order == ("a", "b", "c")


def test_an_entry_that_a_person_made_needs_no_note() -> None:
    """It stays where it stands, as a bag may have brought it, without its act."""
    made = entry("b", sources=MappingProxyType({"kind": BY_HER}))
    rereading = held_against([entry("a"), made, entry("c")], [entry("a"), entry("c")])
    assert rereading.understanding.order == ("a", "b", "c")
    assert (rereading.changed, rereading.kept) == (0, 1)


def test_what_a_reviewer_gave_stays_while_the_rest_is_read_again() -> None:
    """Also in an entry that isn't confirmed, and also for confirmed ones when telling."""
    stored = entry(
        "a", condition=("loss",), remark="freckled", sources=MappingProxyType({"condition": BY_HER})
    )
    fresh = entry("a", condition=("tear",), attachment=("photo corners",))
    rereading = held_against([stored], [fresh])
    (change,) = rereading.changes
    assert (change.entry.condition, change.entry.attachment) == (("loss",), ("photo corners",))
    assert change.entry.sources["condition"] == BY_HER
    assert {field.field for field in change.fields} == {"attachment", "remark"}
    confirmed = replace(stored, status=Status.CONFIRMED, remark=None)
    assert held_against([confirmed], [entry("a", condition=("tear",))]).changes == ()


def parrot(suffix: str = "") -> PlainLogbook:
    """Understands every note as an entry whose condition is what was said."""

    def make(note: Note) -> Entry:
        return entry(f"e-{note.number}", condition=(note.text + suffix,))

    return PlainLogbook(make, way=suffix)


@pytest.fixture
def log_folder(tmp_path: Path) -> Path:
    """A log of three notes, the second one's entry confirmed."""
    folder = tmp_path / "log"
    with WritableLog.open_to_write(folder, made_by="a test") as log:
        scribe = Scribe(log, parrot(), new_uid=iter(["u-1", "u-2", "u-3"]).__next__)
        scribe.catch_up(reason="begun")
        for text in ("torn", "faded", "soiled"):
            scribe.take_down(Utterance(text=text))
        confirmed = entry("e-2", condition=("faded",), status=Status.CONFIRMED)
        log.write_understanding(
            Understanding(changed=(confirmed,), order=("e-1", "e-2", "e-3"), struck=frozenset()),
            reason="confirmed",
        )
    return folder


def test_catching_up_stores_changes_with_a_revision_and_leaves_confirmed_ones(
    log_folder: Path,
) -> None:
    """What was there before is kept, with the reason; a second time nothing is left to do."""
    with WritableLog.open_to_write(log_folder, made_by="a test") as log:
        rereading = Scribe(log, parrot("!")).catch_up(reason="read again")
        assert (rereading.notes, rereading.changed, rereading.kept) == (3, 2, 1)
        assert [each.condition for _, each in log.iter_entries()] == [
            ("torn!",), ("faded",), ("soiled!",),
        ]  # fmt: skip
        again = reread(log, parrot("!"))
        assert (again.changed, again.kept) == (0, 1)
    database = connect_to_read(log_folder / "log.sqlite")
    rows = list(database.query("SELECT * FROM revisions WHERE reason = 'read again'"))
    assert [(row["entry"], row["field"], row["before"], row["after"]) for row in rows] == [
        ("e-1", "condition", '["torn"]', '["torn!"]'),
        ("e-3", "condition", '["soiled"]', '["soiled!"]'),
    ]
    database.close()


def test_notes_after_a_rereading_go_on_counting(log_folder: Path) -> None:
    """The next note is the fourth."""
    with WritableLog.open_to_write(log_folder, made_by="a test") as log:
        scribe = Scribe(log, parrot())
        scribe.catch_up(reason="read again")
        note, _ = scribe.take_down(Utterance(text="foxed"))
        assert note.number == 4
