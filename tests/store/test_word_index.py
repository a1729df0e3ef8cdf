"""Entries found by their words: in captions, remarks and what was heard."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.domain.entry import Entry, Kind, Status
from voicelog.domain.note import Note
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME
from voicelog.store.log import Log
from voicelog.store.snapshot import write_snapshot
from voicelog.store.writing import Understanding, WritableLog

MENU = Entry(
    id="menu",
    kind=Kind.ITEM,
    leaf="1",
    item=1,
    caption="Žofie’s café — lunch for Mr O'Dowd",
    remark="the donor's own hand; 12.50",
    notes=(1,),
)
POSTCARD = Entry(id="postcard", kind=Kind.ITEM, leaf="1", item=2, caption="weir", notes=(2, 3))
VOID = Entry(id="void", kind=Kind.ITEM, leaf="1", item=3, status=Status.VOID, notes=(4,))


@pytest.fixture
def log(tmp_path: Path) -> Iterator[WritableLog]:
    with WritableLog.open_to_write(tmp_path / "log", made_by="a test") as log:
        said = ("a menu, photo corners", "two lamplighters on a postcard", "torn", "a ticket")
        for number, (text, entry) in enumerate(
            zip(said, (MENU, replace(POSTCARD, notes=(2,)), POSTCARD, VOID), strict=True), start=1
        ):
            note = Note(number=number, uid=f"u-{number}", text=text)
            log.add_note(note, Understanding(changed=(entry,)))
        yield log


def found(log: Log, words: str, *, include_void: bool = False) -> list[str]:
    return [entry.id for _, entry in log.iter_worded(words, include_void=include_void)]


@pytest.mark.parametrize(
    ("words", "ids"),
    [
        ("zofie", ["menu"]),
        ("ŽOFIE", ["menu"]),
        (unicodedata.normalize("NFD", "Žofie"), ["menu"]),
        ("cafe lunch", ["menu"]),
        ("lunch cafe", ["menu"]),
        ('"cafe lunch"', ["menu"]),
        ('"lunch cafe"', []),
        ("O'Dowd", ["menu"]),
        ("o’dowd", ["menu"]),
        ("12.50", ["menu"]),
        ("café — lunch!", ["menu"]),
        ("lamplighter", ["postcard"]),
        ("postcards", ["postcard"]),
        ("torn weir", ["postcard"]),
        ("weir lunch", []),
        ("ticket", []),
        ("", []),
        ("…", []),
    ],
)
def test_what_is_typed_finds_what_was_meant(log: WritableLog, words: str, ids: list[str]) -> None:
    """All words, wherever they stand; in quotation marks side by side; endings don't count."""
    assert found(log, words) == ids


def test_void_entries_are_found_when_they_are_wanted(log: WritableLog) -> None:
    """Numbered as everywhere: behind the others."""
    assert [number for number, _ in log.iter_worded("ticket", include_void=True)] == [3]


@pytest.mark.parametrize(
    "words",
    ['"', '""', "*", "-weir", "weir AND", "NOT", "NEAR(", "(weir", "{caption}: weir", "^weir",
     "weir*", "caption:weir", "\x00weir", "weir\\", "'", "%_"],
)  # fmt: skip
def test_signs_that_the_index_would_take_for_commands_are_only_signs(
    log: WritableLog, words: str
) -> None:
    """None is an error; a word among them is found where all words are."""
    assert found(log, words) in ([], ["postcard"])


def test_no_text_is_an_error(log: WritableLog) -> None:
    """Whatever a person types or pastes."""

    @settings(max_examples=60, deadline=None)
    @given(words=st.text(st.characters(blacklist_categories=["Cs"])))
    def check(words: str) -> None:
        found(log, words)

    check()


def test_a_changed_caption_is_found_and_the_old_one_no_longer(log: WritableLog) -> None:
    """Whichever way an entry is changed: the file itself keeps the index."""
    note = Note(number=5, uid="u-5", text="correction")
    log.add_note(note, Understanding(changed=(replace(POSTCARD, caption="the mill"),)))
    assert found(log, "weir") == []
    assert found(log, "mill") == ["postcard"]
    assert log._database.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_a_copy_without_its_index_is_searched_as_well(log: WritableLog, tmp_path: Path) -> None:
    """As it lies in a bag, and nothing is written there."""
    copy = tmp_path / "copy"
    (copy / AUDIO_NAME).mkdir(parents=True)
    write_snapshot(log.folder, copy / DATABASE_NAME)
    before = (copy / DATABASE_NAME).read_bytes()
    assert b"wordings" not in before
    with Log.open(copy) as reader:
        assert found(reader, "lamplighters") == ["postcard"]
    assert (copy / DATABASE_NAME).read_bytes() == before
    with WritableLog.open_to_write(copy, made_by="a test") as opened:
        assert found(opened, "lamplighters") == ["postcard"]
