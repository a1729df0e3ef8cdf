"""Opening a log goes on from where reading had come to, and never from what no longer holds."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.review.desk import MADE_BY, Desk
from tests.review.test_replay import NOTES, Chance, Choose
from voicelog.domain.context import Context
from voicelog.domain.entry import Entry, Review
from voicelog.domain.lesson import Lesson
from voicelog.domain.note import Note
from voicelog.extraction.digest import digest_files
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.store.log import Log
from voicelog.store.writing import Understanding, WritableLog
from voicelog.vocabulary import load_vocabulary

BEGUN = ("accession 2031-007", "volume one", "leaf fourteen recto", "a postcard", "a ticket")
MORE = (
    *NOTES, "volume two, the picnic album", "volume one", "strike that", "accession 2031-008",
    "correction, volume three", "next leaf", "the postcard is torn", "another one, the same",
    "caption reads to the", "weir and back", "leaf two to four blank", "pause log", "resume log",
)  # fmt: skip


@pytest.fixture(scope="module")
def reader() -> Reader:
    return Reader(load_vocabulary(), ReadingOptions(repair_mishearings=False))


@pytest.fixture
def desk(tmp_path: Path, reader: Reader) -> Desk:
    desk = Desk(tmp_path / "log", reader)
    desk.say(*BEGUN)
    return desk


@settings(
    max_examples=6,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(data=st.data())
def test_going_on_gives_what_reading_all_notes_gives(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory, reader: Reader
) -> None:
    """After anything that was said and decided: the same entries in order, and the same place."""
    folder = tmp_path_factory.mktemp("any") / "log"
    check_going_on(
        Desk(folder, reader), lambda options: data.draw(st.sampled_from(options)), steps=4
    )


def check_going_on(desk: Desk, choose: Choose, *, steps: int) -> None:
    """Do anything with a log, then say the same into it and into a copy that reads all notes."""
    desk.say(*BEGUN)
    chance = Chance(desk, choose)
    for _ in range(steps):
        if choose((False, True)):
            desk.say(choose(MORE), choose(MORE))
        chance.do_something()
    said = [choose(MORE) for _ in range(4)]
    copy = read_all_notes(desk)
    assert copy.say(*said).notes > 0
    desk.say(*said)
    assert without_times(desk.entries(include_void=True)) == without_times(
        copy.entries(include_void=True)
    )
    assert standing(desk) == standing(copy)
    assert desk.reread().changes == ()


def read_all_notes(desk: Desk) -> Desk:
    """A copy of a desk whose log has forgotten where reading had come to."""
    folder = desk.folder.with_name("copy")
    shutil.copytree(desk.folder, folder)
    with closing(sqlite3.connect(folder / "log.sqlite")) as database, database:
        database.execute("DELETE FROM kept_reading")
    copy = Desk(folder, desk.reader)
    copy._notes = desk._notes
    return copy


def without_times(entries: list[Entry]) -> list[Entry]:
    return [
        replace(
            entry,
            sources={
                name: replace(origin, at="") if isinstance(origin, Review) else origin
                for name, origin in entry.sources.items()
            },
        )
        for entry in entries
    ]


def standing(desk: Desk) -> tuple[Context, list[int], list[int]]:
    """Where the handler is, which notes can still be struck, and which are."""
    with Log.open(desk.folder) as log:
        kept = log.find_kept_reading()
        assert kept is not None
        return (
            kept.bookmark.context,
            [frame.note for frame in kept.bookmark.frames],
            [state.note.number for state in log.iter_note_states() if state.struck],
        )


def test_an_opened_log_reads_no_note_again(desk: Desk) -> None:
    """However many there are, and whatever a reviewer did meanwhile."""
    desk.reviewer.set_value(desk.see("ticket"), "date", "1951")
    desk.reviewer.confirm([desk.see("postcard")])
    assert desk.say("yellowed").notes == 0
    assert desk.the("ticket").entry.condition == ("yellowed",)


def teach(desk: Desk) -> None:
    desk.reviewer.learning.learn(Lesson(heard="foxen", meant="foxing", field="condition"))
    assert desk.say().notes == 0
    desk.reviewer.learning.forget(1)


def other_terms(desk: Desk) -> None:
    terms = desk.folder.with_name("condition.toml")
    terms.write_text(
        'field = "condition"\n[[concept]]\nid = "foxing"\nterm = "foxing"\n'
        'variants = ["freckled"]\n'
    )
    desk.reader = Reader(load_vocabulary(terms), ReadingOptions(repair_mishearings=False))


def other_options(desk: Desk) -> None:
    desk.reader = Reader(load_vocabulary(), ReadingOptions())


def unread_note(desk: Desk) -> None:
    with WritableLog.open_to_write(desk.folder, made_by=MADE_BY) as log:
        log.add_note(Note(number=6, uid="note-6", text="loose"), Understanding(changed=()))
    desk._notes += 1


def redact(desk: Desk) -> None:
    (stretch,) = desk.reviewer.redacting.find("ticket")
    desk.reviewer.redacting.redact([stretch], reason="a trial")


@pytest.mark.parametrize(
    ("change", "is_all_read"),
    [
        (lambda _desk: None, False),
        (teach, False),
        (other_terms, True),
        (other_options, True),
        (unread_note, True),
        (redact, True),
    ],
)
def test_all_notes_are_read_again_when_they_may_be_read_otherwise(
    desk: Desk,
    change: Callable[[Desk], None],
    is_all_read: bool,  # noqa: FBT001 - a column of the table
) -> None:
    """Once; from then on reading goes on again. A lesson holds for later notes only."""
    change(desk)
    assert (desk.say().notes > 0) is is_all_read
    assert desk.say().notes == 0
    assert desk.reread().changed == 0


def test_a_reviewer_may_change_what_was_kept_against_a_new_reading(desk: Desk) -> None:
    """Opened again, a confirmed entry gets what its notes give today."""
    desk.say("a menu, freckled")
    desk.reviewer.confirm([desk.see("menu")])
    other_terms(desk)
    assert desk.say().kept == 1
    assert desk.say().notes == 0
    desk.reviewer.reopen(desk.see("menu"))
    assert desk.say().notes > 0
    assert desk.the("menu").entry.condition == ("foxing",)


def test_a_mended_rule_is_seen_without_a_new_version(tmp_path: Path) -> None:
    """Every file of the reader counts, and of the words and values it reads with."""
    for part in ("domain", "extraction", "vocabulary", "cli"):
        (tmp_path / part / "deeper").mkdir(parents=True)
        (tmp_path / part / "deeper" / "rules.py").write_text("pass")
    before = digest_files(tmp_path)
    assert sorted(before) == [
        "domain/deeper/rules.py", "extraction/deeper/rules.py", "vocabulary/deeper/rules.py",
    ]  # fmt: skip
    (tmp_path / "extraction" / "deeper" / "rules.py").write_text("...")
    assert digest_files(tmp_path) != before


def test_striking_reaches_back_over_openings(desk: Desk) -> None:
    """What was said before the log was opened last can be struck like any other note."""
    desk.say("a menu", "torn")
    desk.say("strike that", "strike that")
    assert [entry.item_type for entry in desk.entries()] == [(), ("postcard",), ("ticket",)]
    desk.say("strike that")
    assert [entry.item_type for entry in desk.entries()] == [(), ("postcard",)]
