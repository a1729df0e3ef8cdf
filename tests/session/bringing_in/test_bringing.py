"""A bag from another bench: everything in it arrives, once, and nothing is settled silently."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.session.bringing_in.benches import Bench
from voicelog.domain.entry import Kind, Review, Status
from voicelog.domain.note import Span
from voicelog.domain.redaction import RedactedStretch
from voicelog.errors import BagRefused, EntryLocked, SoundElsewhere
from voicelog.exports.bag.bagging import make_bag
from voicelog.store.log import Log
from voicelog.store.sessions import Session, Way
from voicelog.store.writing import WritableLog

HERE = (
    "accession 2031-007",
    "volume one, the green book, post binding",
    "leaf one, a postcard, photo corners",
    "leaf two, a ticket, came off, goes in envelope seven",
)
THERE = (
    "accession 2031-007",
    "volume one, the green book, twenty four leaves",
    "leaf three, a menu",
    "strike that",
    "leaf three, a letter, caption reads dear Mabel",
    "it measures four by six inches",
)


@pytest.fixture
def here(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "here")
    bench.say(*HERE)
    return bench


@pytest.fixture
def there(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "there")
    bench.say(*THERE)
    return bench


def test_a_volume_continued_at_another_bench_is_one_volume(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """One volume entry that says what both said, and the items of both in their places."""
    brought = here.take_in(there.pack(tmp_path / "bag"))
    (volume,) = [entry for entry in here.entries() if entry.kind is Kind.VOLUME]
    assert (volume.binding, volume.leaves) == ("post binding", 24)
    assert here.items() == ["1 recto 1 postcard", "2 recto 1 ticket", "3 recto 1 letter"]
    assert brought.conflicts == ()
    assert (brought.notes, brought.entries, brought.united, brought.changed) == (6, 1, 1, 1)


def test_a_value_that_was_taken_says_which_bag_it_came_from(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """In the entry's provenance."""
    here.take_in(there.pack(tmp_path / "from-bench-two"))
    (volume,) = [entry for entry in here.entries() if entry.kind is Kind.VOLUME]
    origin = volume.sources["leaves"]
    assert isinstance(origin, Review)
    assert origin.by == "brought in from from-bench-two"


def test_notes_come_along_as_evidence_with_their_words_and_numbers_of_their_own(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """What an item rests on can be looked up here; struck notes stay struck."""
    here.take_in(there.pack(tmp_path / "bag"))
    with Log.open(here.folder) as log, Log.open(there.folder) as other:
        states = list(log.iter_note_states())
        evidence = list(log.iter_evidence())
        assert [one.note.text for one in evidence[4:]] == list(THERE)
        assert [one.number for one in evidence[4:]] == [1, 2, 3, 4, 5, 6]
        assert {one.log for one in evidence[4:]} == {other.facts()["uid"]}
        assert [one.note.uid for one in evidence[4:]] == [note.uid for note in other.iter_notes()]
    assert [state.note.number for state in states if state.struck] == [7]
    letter = here.find("letter")
    (span,) = letter.sources["caption"]
    assert (span.note, span.text) == (9, "dear Mabel")  # type: ignore[union-attr]
    assert letter.notes == (9, 10)


def test_ids_survive(here: Bench, there: Bench, tmp_path: Path) -> None:
    """Those of entries that were taken into one of ours stay taken, void."""
    here.take_in(there.pack(tmp_path / "bag"))
    ids = {entry.id for entry in here.entries(include_void=True)}
    assert {entry.id for entry in there.entries(include_void=True)} <= ids


def test_reading_again_gives_the_same_entries(here: Bench, there: Bench, tmp_path: Path) -> None:
    """The notes that came are not read among ours: "strike that" meant theirs."""
    here.take_in(there.pack(tmp_path / "bag"))
    before = here.entries(include_void=True)
    rereading = here.reread()
    assert (rereading.notes, rereading.changes) == (4, ())
    here.say("okay")
    assert here.entries(include_void=True) == before


def test_work_goes_on_here_as_if_all_of_it_had_been_said_here(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """The context is ours, the next item of a side gets the next number, the volume is known."""
    here.take_in(there.pack(tmp_path / "bag"))
    here.say("a label", "leaf three, a badge", "correction, a medal")
    assert here.items()[1:] == [
        "2 recto 1 ticket",
        "2 recto 2 label",
        "3 recto 1 letter",
        "3 recto 2 medal",
    ]
    here.say("strike that", "strike that")
    assert here.items()[-1] == "3 recto 1 letter"


def test_the_same_bag_again_changes_nothing(here: Bench, there: Bench, tmp_path: Path) -> None:
    """Not a byte of the database's content; also after work has gone on here."""
    bag = there.pack(tmp_path / "bag")
    here.take_in(bag)
    here.say("leaf three, a badge")
    here.review().confirm([_seen(here, "letter")])
    before = _dump(here)
    again = here.take_in(bag)
    assert again.is_nothing
    assert again.conflicts == ()
    assert _dump(here) == before


def test_a_bag_that_has_grown_brings_only_what_is_new(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """New notes and entries, and values that were changed there since."""
    here.take_in(there.pack(tmp_path / "monday"))
    there.say("correction, a telegram", "leaf four, a map")
    there.review().set_value(_seen(there, "map"), "caption", "the lower valley")
    brought = here.take_in(there.pack(tmp_path / "tuesday"))
    assert (brought.notes, brought.entries, brought.changed) == (2, 1, 1)
    assert brought.conflicts == ()
    assert here.items()[-2:] == ["3 recto 1 telegram", "4 recto 1 map"]
    assert here.find("map").caption == "the lower valley"
    assert here.reread().changes == ()


def test_there_and_back_again(here: Bench, there: Bench, tmp_path: Path) -> None:
    """Two benches exchange bags, go on, and exchange them again: both have the same in the end."""
    here.take_in(there.pack(tmp_path / "1"))
    there.take_in(here.pack(tmp_path / "2"))
    here.say("leaf five, a badge")
    there.say("leaf six, a menu")
    there.review().set_value(_seen(there, "ticket"), "caption", "admit one")
    here.take_in(there.pack(tmp_path / "3"))
    there.take_in(here.pack(tmp_path / "4"))
    assert here.items() == there.items()
    assert here.find("ticket").caption == there.find("ticket").caption == "admit one"
    assert not [entry for entry in here.entries() if entry.doubts]
    assert here.take_in(there.pack(tmp_path / "5")).is_nothing
    assert here.reread().changes == there.reread().changes == ()


def test_what_a_reviewer_decided_there_stays_decided_here(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """Confirmed entries come confirmed, with their history."""
    there.review().set_value(_seen(there, "letter"), "caption", "Dear Mabel")
    there.review().confirm([_seen(there, "letter")])
    here.take_in(there.pack(tmp_path / "bag"))
    letter = here.find("letter")
    assert (letter.status, letter.caption) == (Status.CONFIRMED, "Dear Mabel")
    with Log.open(here.folder) as log:
        history = [one for one in log.iter_revisions() if one["entry"] == letter.id]
    assert {(one["field"], one["by"]) for one in history} >= {("caption", "Ida"), ("status", "Ida")}
    here.say("okay")
    assert here.find("letter") == letter


def test_both_benches_on_one_side_and_one_envelope_are_queried_not_settled(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """Nothing is overwritten; the mark that was written stays; a person decides."""
    there.say("leaf two, a snapshot, came off, goes in envelope seven")
    brought = here.take_in(there.pack(tmp_path / "bag"))
    ticket, snapshot = here.find("ticket"), here.find("snapshot")
    assert (ticket.item, snapshot.item) == (1, 2)
    assert snapshot.mark == there.find("snapshot").mark == ticket.mark
    assert snapshot.status is Status.QUERIED
    assert ticket.status is Status.HEARD
    assert [conflict.field for conflict in brought.conflicts] == ["item", "mark", "enclosure"]
    assert [doubt.field for doubt in snapshot.doubts] == ["item", "mark", "enclosure"]
    assert here.reread().changes == ()


def test_a_doubt_that_a_person_has_settled_does_not_come_back(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """The same bag again, or a grown one, has nothing new to say about it."""
    there.say("volume one, spiral binding")
    assert here.take_in(there.pack(tmp_path / "bag")).conflicts
    volume = next(entry for entry in here.entries() if entry.kind is Kind.VOLUME)
    with Log.open(here.folder) as log:
        stored = log.find_entry(volume.id)
    assert stored is not None
    here.review().confirm([stored.seen])
    there.say("leaf nine, a menu")
    brought = here.take_in(there.pack(tmp_path / "grown"))
    assert (brought.entries, brought.conflicts) == (1, ())


def test_a_volume_that_is_signed_off_is_not_added_to(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """Nothing of the bag is written; the sentence says who signed it off."""
    with Log.open(here.folder) as log:
        seen = [one.seen for one in log.iter_stored()]
    reviewer = here.review()
    reviewer.confirm(seen)
    reviewer.sign_off("2031-007", "1")
    before = _dump(here)
    with pytest.raises(EntryLocked, match=r"signed off by Ida on .*; unlock it before"):
        here.take_in(there.pack(tmp_path / "bag"))
    assert _dump(here) == before


class TestSound:
    """Recordings come along; their sound only when it was asked for."""

    def test_a_recording_of_the_same_name_gets_another(
        self, here: Bench, there: Bench, tmp_path: Path
    ) -> None:
        """Its notes point at the new name; the bytes are those of the other bench."""
        here.record("morning.flac", b"ours")
        there.record("morning.flac", b"theirs")
        there.say("leaf four, a map", recording="morning.flac")
        brought = here.take_in(there.pack(tmp_path / "bag", with_audio=True))
        assert (brought.recordings, brought.sounds) == (1, 1)
        with Log.open(here.folder) as log:
            note = list(log.iter_notes())[-1]
            assert note.recording == "morning-2.flac"
            assert (log.audio_folder / "morning.flac").read_bytes() == b"ours"
            assert (log.audio_folder / "morning-2.flac").read_bytes() == b"theirs"
        assert (here.folder / "audio" / "morning-2.flac").stat().st_mode & 0o777 == 0o600

    def test_sound_that_was_left_behind_is_said_to_be_and_can_come_later(
        self, here: Bench, there: Bench, tmp_path: Path
    ) -> None:
        """The first bag had none, the second has."""
        there.record("morning.flac", b"theirs")
        there.say("leaf four, a map", recording="morning.flac")
        here.take_in(there.pack(tmp_path / "bag"))
        with Log.open(here.folder) as log:
            (recording,) = log.iter_recordings()
            with pytest.raises(SoundElsewhere, match="stayed at the bench where it was recorded"):
                log.find_sound(recording.file)
        brought = here.take_in(there.pack(tmp_path / "loud", with_audio=True))
        assert (brought.notes, brought.recordings, brought.sounds) == (0, 0, 1)
        with Log.open(here.folder) as log:
            assert log.find_sound(recording.file).read_bytes() == b"theirs"

    def test_a_session_that_was_broken_off_there_is_over_here(
        self, here: Bench, there: Bench, tmp_path: Path
    ) -> None:
        """Its journal stayed there; no later session here looks for it, whatever it is called."""
        session = Session(
            id="s",
            way=Way.LIVE,
            device="headset",
            journal="../../elsewhere",
            began_at="2031-05-12T10:00:00+01:00",
        )
        with WritableLog.open_to_write(there.folder, made_by="voicelog test") as log:
            log.begin_session(session)
        there.say("leaf four, a map")
        here.take_in(there.pack(tmp_path / "bag"))
        with Log.open(here.folder) as log:
            (kept,) = log.iter_sessions()
        assert (kept.journal, kept.broken_off, kept.is_under_way) == (None, True, False)
        assert kept.ended_at == session.began_at

    def test_one_recording_heard_at_both_benches_is_told(
        self, here: Bench, there: Bench, tmp_path: Path
    ) -> None:
        """There is one file; the notes of both are kept, and what they gave is queried."""
        for bench in (here, there):
            bench.record("same.flac", b"the same sound")
            bench.say("leaf seven, a badge", recording="same.flac")
        brought = here.take_in(there.pack(tmp_path / "bag", with_audio=True))
        assert brought.twice == ("same.flac",)
        assert (brought.recordings, brought.sounds) == (0, 0)
        assert here.items()[-2:] == ["7 recto 1 badge", "7 recto 2 badge"]
        assert "item" in {conflict.field for conflict in brought.conflicts}

    def test_other_sound_than_the_log_says_is_refused(
        self, here: Bench, there: Bench, tmp_path: Path
    ) -> None:
        """Although the bag's own checksums are right."""
        there.record("morning.flac", b"theirs")
        bag = there.pack(tmp_path / "bag", with_audio=True)
        (bag / "data" / "audio" / "morning.flac").write_bytes(b"other!")
        _bag_again(bag)
        with pytest.raises(BagRefused, match="not the one in its log"):
            here.take_in(bag)


def test_a_log_copied_and_gone_on_with_at_two_benches_is_put_together_again(
    here: Bench, tmp_path: Path
) -> None:
    """The folder was copied instead of a bag: the same uid, the same first notes."""
    there = Bench(tmp_path / "copy")
    there.folder.mkdir()
    with (
        closing(sqlite3.connect(here.folder / "log.sqlite")) as ours,
        closing(sqlite3.connect(there.folder / "log.sqlite")) as copy,
    ):
        ours.backup(copy)
    here.say("leaf five, a badge")
    there.say("leaf six, a menu")
    brought = here.take_in(there.pack(tmp_path / "bag"))
    assert (brought.notes, brought.entries, brought.conflicts) == (1, 1, ())
    assert here.items()[-2:] == ["5 recto 1 badge", "6 recto 1 menu"]
    assert here.reread().changes == ()


def test_a_bag_begins_a_log_where_there_is_none(there: Bench, tmp_path: Path) -> None:
    """With an id of its own, and everything that was in the bag."""
    new = Bench(tmp_path / "new")
    new.take_in(there.pack(tmp_path / "bag"))
    assert new.items() == there.items()
    with Log.open(new.folder) as log, Log.open(there.folder) as other:
        assert log.facts()["uid"] != other.facts()["uid"]


# Hostile databases ----------------------------------------------------------------------


def _sql(*statements: str) -> Callable[[sqlite3.Connection], None]:
    def run(database: sqlite3.Connection) -> None:
        for statement in statements:
            database.execute(statement)

    return run


def _without_triggers(*statements: str) -> Callable[[sqlite3.Connection], None]:
    """Do what the triggers forbid, and put them back as they were."""

    def run(database: sqlite3.Connection) -> None:
        triggers = database.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in triggers:
            database.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            database.execute(statement)
        for _, sql in triggers:
            database.execute(sql)

    return run


DATABASES: dict[str, tuple[Callable[[sqlite3.Connection], None], str]] = {
    "a trigger of its own": (
        _sql("CREATE TRIGGER evil AFTER INSERT ON notes BEGIN DELETE FROM struck_notes; END"),
        "other tables than a log has",
    ),
    "a view in the place of a table": (
        _sql(
            "ALTER TABLE words RENAME TO hidden",
            "CREATE VIEW words AS SELECT * FROM hidden, hidden",
        ),
        "other tables than a log has|points at",
    ),
    "a table of its own": (
        _sql("CREATE TABLE evil (x)"),
        "other tables than a log has",
    ),
    "a table that is missing": (_sql("DROP TABLE acceptances"), "other tables than a log has"),
    "the mark of another program": (_sql("PRAGMA application_id = 1"), "not the database of a log"),
    "a step of a later version": (
        _sql("UPDATE _sqlite_migrations SET name = 'm999_future' WHERE name = 'm021_brought'"),
        "later voicelog",
    ),
    "an entry of no kind": (
        _without_triggers("UPDATE entries SET kind = 'poster'"),
        "makes no sense",
    ),
    "a condition that is no list": (
        _without_triggers("UPDATE entries SET condition = '7'"),
        "condition of entry .* is of a strange kind",
    ),
    "a size beyond all bounds": (
        _without_triggers("UPDATE entries SET leaves = 9000000000000000000"),
        "leaves of entry .* is out of all bounds",
    ),
    "an endless caption": (
        _without_triggers("UPDATE entries SET caption = printf('%.*c', 2000000, 'x')"),
        "caption of entry .* is far too long",
    ),
    "notes that aren't there": (
        _without_triggers("UPDATE entries SET notes = '[4711]'"),
        "rests on notes that aren't there",
    ),
    "a recording outside the folder": (
        _without_triggers(
            "INSERT INTO recordings (file, uid, original_name, sha256, size_bytes, taken_at) "
            "VALUES ('../../evil', 'u', 'x', 'y', 1, 'z')"
        ),
        "is called '../../evil'",
    ),
    "a recording that was never finished": (
        _without_triggers(
            "INSERT INTO recordings (file, uid, original_name, sha256, size_bytes, taken_at) "
            "VALUES ('live.wav', 'u', 'x', '', 0, 'z')"
        ),
        "was not finished when the bag was made",
    ),
    "an id with an escape sequence": (
        _without_triggers("UPDATE notes SET uid = char(27) || '[2J' WHERE number = 1"),
        "is no id",
    ),
    "a word of a note that isn't there": (
        _without_triggers("INSERT INTO words (note, rank, text) VALUES (4711, 0, 'x')"),
        "points at entries or notes",
    ),
    "a number that is a text": (
        _without_triggers("UPDATE entries SET images = '[\"one\"]'"),
        "images of entry .* is of a strange kind",
    ),
    "brackets that nobody closes in a lifetime": (
        _without_triggers(
            "UPDATE notes SET alternatives = replace(hex(zeroblob(900)), '00', '[') || "
            "replace(hex(zeroblob(900)), '00', ']') WHERE number = 1"
        ),
        "makes no sense|nested without end|note 1 in its log is of a strange kind",
    ),
}


@pytest.mark.parametrize("fault", DATABASES)
def test_a_strange_database_is_refused_whole(
    here: Bench, there: Bench, tmp_path: Path, fault: str
) -> None:
    """In one sentence, with checksums that are right; nothing of it is written."""
    change, match = DATABASES[fault]
    bag = there.pack(tmp_path / "bag")
    with closing(sqlite3.connect(bag / "data" / "log.sqlite", isolation_level=None)) as database:
        change(database)
    _bag_again(bag)
    before = _dump(here)
    with pytest.raises(BagRefused, match=match) as caught:
        here.take_in(bag)
    assert str(caught.value).startswith(f"The bag {bag} is refused: ")
    assert str(caught.value).endswith("Nothing was brought in.")
    assert _dump(here) == before


@pytest.mark.parametrize(
    "content", [b"", b"leaf one, a postcard", b"SQLite format 3\0" + b"x" * 99]
)
def test_what_is_no_database_is_refused(
    here: Bench, there: Bench, tmp_path: Path, content: bytes
) -> None:
    """Empty, a text, or only the beginning of one."""
    bag = there.pack(tmp_path / "bag")
    (bag / "data" / "log.sqlite").write_bytes(content)
    _bag_again(bag)
    with pytest.raises(BagRefused, match=r"log\.sqlite"):
        here.take_in(bag)


def test_a_note_with_other_words_than_ours_is_refused(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """One of the two was tampered with; nobody can tell which."""
    here.take_in(there.pack(tmp_path / "honest"))
    bag = there.pack(tmp_path / "tampered")
    with closing(sqlite3.connect(bag / "data" / "log.sqlite", isolation_level=None)) as database:
        _without_triggers("UPDATE notes SET text = 'leaf three, a cheque' WHERE number = 3")(
            database
        )
    _bag_again(bag)
    with pytest.raises(BagRefused, match="its note 3 is note 7 here, but with other words"):
        here.take_in(bag)


def test_words_that_are_redacted_after_they_came_are_gone_and_do_not_come_back(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """Also from what is remembered of the bag; the unredacted bag is refused."""
    bag = there.pack(tmp_path / "bag")
    here.take_in(bag)
    (span,) = here.find("letter").sources["caption"]
    assert isinstance(span, Span)
    stretch = RedactedStretch(note=span.note, first=span.first, last=span.last)
    _redact(here, stretch)
    assert _holding(here, b"Mabel") == []
    assert here.reread().changes == ()
    with pytest.raises(BagRefused, match="words of it were redacted only here"):
        here.take_in(bag)
    with Log.open(here.folder) as log:
        (origin,) = [one for one in log.iter_evidence() if one.note.number == span.note]
    _redact(there, replace(stretch, note=origin.number))
    assert here.take_in(there.pack(tmp_path / "redacted")).notes == 0
    assert _holding(here, b"Mabel") == []


# Whatever is said -----------------------------------------------------------------------

said = st.lists(
    st.sampled_from(
        [
            "leaf one, a postcard",
            "leaf two, a ticket, came off, goes in envelope one",
            "next leaf",
            "verso",
            "a menu, yellowed",
            "another one, the same",
            "strike that",
            "blank both sides",
            "correction, leaf three",
            "volume two, the picnic album",
            "volume one, the green book",
            "spiral binding",
            "check this",
        ]
    ),
    max_size=7,
)


@given(ours=said, theirs=said, later=said)
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_whatever_was_said_nothing_is_lost_and_nothing_comes_twice(
    tmp_path_factory: pytest.TempPathFactory, ours: list[str], theirs: list[str], later: list[str]
) -> None:
    """Every id arrives, numbers stay apart, work goes on; the bag again changes nothing."""
    folder = tmp_path_factory.mktemp("benches")
    here, there = Bench(folder / "here"), Bench(folder / "there")
    here.say("accession 2031-007", "volume one", *ours)
    there.say("accession 2031-007", "volume one", *theirs)
    bag = there.pack(folder / "bag")
    here.take_in(bag)
    ids = {entry.id for entry in here.entries(include_void=True)}
    assert {entry.id for entry in there.entries(include_void=True)} <= ids
    assert here.reread().changes == ()
    here.say(*later)
    numbers = [
        (entry.accession, entry.volume, entry.leaf, entry.side, entry.item)
        for entry in here.entries()
        if entry.kind is Kind.ITEM
    ]
    assert len(numbers) == len(set(numbers))
    before = _dump(here)
    assert here.take_in(bag).is_nothing
    assert _dump(here) == before


def _seen(bench: Bench, item_type: str) -> object:
    with Log.open(bench.folder) as log:
        stored = log.find_entry(bench.find(item_type).id)
    assert stored is not None
    return stored.seen


def _redact(bench: Bench, stretch: RedactedStretch) -> None:
    bench.review().redacting.redact([stretch], reason="privacy")


def _holding(bench: Bench, word: bytes) -> list[str]:
    files = [path for path in bench.folder.rglob("*") if path.is_file()]
    return [path.name for path in files if word in path.read_bytes()]


def _dump(bench: Bench) -> list[str]:
    with closing(sqlite3.connect(bench.folder / "log.sqlite")) as database:
        return list(database.iterdump())


def _bag_again(bag: Path) -> None:
    """Make the checksums right, as whoever tampers with a bag would."""
    for path in bag.iterdir():
        if path.is_file():
            path.unlink()
    make_bag(bag, ())
