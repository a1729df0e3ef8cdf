"""The log keeps what it is given, and refuses what it must never do."""

from __future__ import annotations

import sqlite3
import stat
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.domain.entry import (
    Access,
    Adhesion,
    Doubt,
    Entry,
    Kind,
    Relation,
    RelationKind,
    Review,
    Side,
    Status,
)
from voicelog.domain.note import Note, Span, Word
from voicelog.errors import DiskFull, LogBusy, LogFromNewerVersion, StoreError, UsageError
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.writing import Understanding, WritableLog

POSTCARD = Entry(
    id="e-1",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    leaf="14",
    side=Side.RECTO,
    item=1,
    item_type=("postcard",),
    quantity=2,
    attachment=("photo corners",),
    adhesion=Adhesion.LOOSE,
    condition=("yellowed", "tear"),
    action=("detached", "enclosed"),
    enclosure="envelope 7",
    caption="Lamplighters' picnic, Quillhaven weir",
    date="1952-06-04",
    dimensions=(108.0, 152.4),
    position="upper left",
    images=(27, 28),
    mark="2031-007/1/14r/1",
    relations=(Relation(kind=RelationKind.BEHIND, id="e-2"),),
    cautions=("puncture",),
    remark="soft pencil",
    status=Status.QUERIED,
    confidence=0.75,
    doubts=(Doubt(message="The date has no year.", field="date"), Doubt(message="Check.")),
    access=Access.RESTRICTED,
    recorded_at="2031-03-02T09:15:00+00:00",
    handler="Ida Marsh",
    notes=(1,),
    sources={
        "item_type": (Span(note=1, text="postcard", first=2, last=10, start_s=0.5, end_s=1.1),),
        "accession": "context",
        "caption": Review(by="Tom Vale", at="2031-03-02T17:00:00+00:00", was=None),
    },
)
VOLUME = Entry(
    id="e-2", kind=Kind.VOLUME, volume="1", binding="post binding", leaves=48, notes=(1,)
)


def spoken(number: int = 1, text: str = "a postcard") -> Note:
    words = tuple(
        Word(text=word, start_s=nth * 0.5, end_s=nth * 0.5 + 0.4, confidence=0.9)
        for nth, word in enumerate(text.split())
    )
    return Note(
        number=number,
        uid=f"uid-{number}",
        text=text,
        words=words,
        engine="whisper",
        model="tiny.en",
        alternatives=("a post card",),
        about="another entry",
        recorded_at="2031-03-02T09:15:00+00:00",
        handler="Ida Marsh",
    )


def understood(*entries: Entry, struck: frozenset[int] = frozenset()) -> Understanding:
    return Understanding(changed=entries, order=tuple(entry.id for entry in entries), struck=struck)


@pytest.fixture
def log(tmp_path: Path):
    with WritableLog.open_to_write(tmp_path / "log", made_by="voicelog test") as opened:
        yield opened


def test_a_note_and_its_entries_come_back_as_they_went_in(log: WritableLog) -> None:
    """Nothing is lost or rounded between the values and the file."""
    log.add_note(spoken(), understood(VOLUME, POSTCARD))
    with Log.open(log.folder) as reader:
        assert list(reader.iter_notes()) == [spoken()]
        assert [entry for _, entry in reader.iter_entries()] == [VOLUME, POSTCARD]
        assert [dict(entry.sources) for _, entry in reader.iter_entries()][1] == POSTCARD.sources


def test_any_text_survives_the_file(log: WritableLog) -> None:
    """Quotes, line breaks, NULs and every script are kept, character for character."""
    any_text = st.text(st.characters(blacklist_categories=["Cs"]))

    @settings(max_examples=50, deadline=None)
    @given(text=any_text, caption=st.none() | any_text, remark=any_text)
    def check(text: str, caption: str | None, remark: str) -> None:
        number = log.count_notes() + 1
        entry = replace(VOLUME, caption=caption, remark=remark)
        note = Note(number=number, uid=f"u-{number}", text=text)
        log.add_note(note, understood(entry))
        assert list(log.iter_notes())[-1] == note
        assert [kept for _, kept in log.iter_entries()] == [entry]

    check()


def test_values_and_origins_agree_with_the_entries_beside_them(log: WritableLog) -> None:
    """A value stands in two tables; both must say the same."""
    log.add_note(spoken(), understood(VOLUME, POSTCARD))
    log.close()
    database = sqlite3.connect(log.folder / "log.sqlite")
    pairs = database.execute(
        "SELECT v.value, json_quote(e.caption), v.field FROM field_values v "
        "JOIN entries e ON e.id = v.entry WHERE v.field = 'caption'"
    ).fetchall()
    database.close()
    assert pairs == [('"Lamplighters\' picnic, Quillhaven weir"',) * 2 + ("caption",)]


@pytest.mark.parametrize(
    "change",
    [
        "DELETE FROM notes",
        "UPDATE notes SET text = 'other'",
        "REPLACE INTO notes SELECT * FROM notes",
        "DELETE FROM words",
        "REPLACE INTO words SELECT * FROM words",
        "UPDATE words SET text = 'other'",
        "DELETE FROM revisions",
        "UPDATE revisions SET reason = 'other'",
        "DELETE FROM entries",
    ],
)
def test_evidence_can_not_be_changed_even_with_other_tools(log: WritableLog, change: str) -> None:
    """The file itself refuses, whoever opens it."""
    log.add_note(spoken(), understood(POSTCARD))
    log.add_note(spoken(2), understood(replace(POSTCARD, leaf="15")))
    log.close()
    database = sqlite3.connect(log.folder / "log.sqlite")
    with pytest.raises(sqlite3.IntegrityError, match=r"never|only ever"):
        database.execute(change)
    database.close()


def test_a_later_change_leaves_a_revision(log: WritableLog) -> None:
    """What a value was, what it became, by what and why, is kept in order."""
    log.add_note(spoken(), understood(POSTCARD))
    log.add_note(spoken(2, "correction leaf fifteen"), understood(replace(POSTCARD, leaf="15")))
    log.close()
    database = sqlite3.connect(log.folder / "log.sqlite")
    rows = database.execute(
        'SELECT entry, field, before, after, "by", reason FROM revisions'
    ).fetchall()
    database.close()
    assert rows == [("e-1", "leaf", '"14"', '"15"', "voicelog test", "note 2")]


def test_a_note_is_stored_with_its_entries_or_not_at_all(log: WritableLog) -> None:
    """A failure half-way leaves neither the note nor its words behind."""
    broken = understood(replace(POSTCARD, quantity="many"))  # type: ignore[arg-type]
    with pytest.raises(StoreError, match="refused a change"):
        log.add_note(spoken(), broken)
    assert log.count_notes() == 0
    assert list(log.iter_notes()) == []


def test_void_entries_are_numbered_behind_the_others(log: WritableLog) -> None:
    """A display number means the same entry whether or not void ones are shown."""
    gone = replace(POSTCARD, id="e-0", status=Status.VOID)
    log.add_note(spoken(), understood(VOLUME, gone, POSTCARD, struck=frozenset({1})))
    assert [(n, e.id) for n, e in log.iter_entries()] == [(1, "e-2"), (2, "e-1")]
    assert [(n, e.id) for n, e in log.iter_entries(include_void=True)] == [
        (1, "e-2"),
        (2, "e-1"),
        (3, "e-0"),
    ]
    assert [(s.struck, s.entries) for s in log.iter_note_states()] == [(True, (1, 2))]


def test_a_fresh_reading_voids_what_it_no_longer_gives(log: WritableLog) -> None:
    """Nothing is removed when the notes come to mean something else."""
    log.add_note(spoken(), understood(VOLUME, POSTCARD))
    assert log.write_understanding(understood(VOLUME), reason="read again") == 1
    assert [e.id for _, e in log.iter_entries()] == ["e-2"]
    assert [e.id for _, e in log.iter_entries(include_void=True)] == ["e-2", "e-1"]
    assert log.write_understanding(understood(VOLUME), reason="read again") == 0
    log.add_note(spoken(2), understood(VOLUME))


def test_only_the_owner_may_look(log: WritableLog) -> None:
    """Folder 0700, files 0600, whatever the umask."""
    log.add_note(spoken(), understood(VOLUME))
    for path in [log.folder, *log.folder.rglob("*")]:
        wanted = 0o700 if path.is_dir() else 0o600
        assert stat.S_IMODE(path.stat().st_mode) == wanted, path


def test_a_closed_log_is_one_file_and_the_recordings(tmp_path: Path) -> None:
    """Nothing else is left in the folder, and nothing anywhere else."""
    with WritableLog.open_to_write(tmp_path / "log", made_by="voicelog test") as log:
        log.add_note(spoken(), understood(VOLUME))
    with Log.open(tmp_path / "log") as reader:
        assert reader.count_notes() == 1
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["audio", "log", "log.sqlite"]


def test_a_second_writer_is_told_who_writes(log: WritableLog) -> None:
    """The sentence names the process, so that it can be found."""
    with pytest.raises(LogBusy, match=r"\(process \d+ on .+\) is writing"):
        WritableLog.open_to_write(log.folder, made_by="voicelog test")
    log.close()
    WritableLog.open_to_write(log.folder, made_by="voicelog test").close()


def test_a_killed_writer_leaves_no_lock(tmp_path: Path) -> None:
    """Kill the writer in the middle: the next one gets in and finds what was stored."""
    program = (
        "import os, sys\nfrom pathlib import Path\n"
        "sys.path[:0] = [sys.argv[2], sys.argv[3]]\n"
        "from test_log import VOLUME, WritableLog, spoken, understood\n"
        "log = WritableLog.open_to_write(Path(sys.argv[1]), made_by='voicelog test')\n"
        "log.add_note(spoken(), understood(VOLUME))\n"
        "os.kill(os.getpid(), 9)\n"
    )
    here = Path(__file__).parent
    folder = tmp_path / "log"
    ended = subprocess.run(
        [sys.executable, "-c", program, str(folder), str(here), str(here.parents[1])], check=False
    )
    assert ended.returncode == -9
    with Log.open(folder) as reader:
        assert reader.count_notes() == 1
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        assert list(log.iter_notes()) == [spoken()]


def test_readers_see_the_last_complete_state_while_somebody_writes(log: WritableLog) -> None:
    """A reader is neither blocked nor shown half a note."""
    log.add_note(spoken(), understood(VOLUME))
    with Log.open(log.folder) as reader:
        log.add_note(spoken(2), understood(VOLUME, POSTCARD))
        assert reader.count_notes() == 2


def test_a_log_from_a_later_version_is_left_alone(tmp_path: Path) -> None:
    """A table change that this version doesn't know means: hands off."""
    folder = tmp_path / "log"
    WritableLog.open_to_write(folder, made_by="voicelog test").close()
    database = sqlite3.connect(folder / "log.sqlite")
    database.execute(
        "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) "
        "VALUES ('voicelog', 'm999_thoughts', '2040-01-01')"
    )
    database.commit()
    database.close()
    before = (folder / "log.sqlite").read_bytes()
    for opened in (
        lambda: Log.open(folder),
        lambda: WritableLog.open_to_write(folder, made_by="voicelog test"),
    ):
        with pytest.raises(LogFromNewerVersion, match=r"later voicelog .*update voicelog"):
            opened()
    assert (folder / "log.sqlite").read_bytes() == before
    assert not (folder / "log.lock").exists()


def test_what_is_not_a_log_is_said_so(tmp_path: Path) -> None:
    """No folder, a file, somebody's folder, somebody's database: one sentence each."""
    with pytest.raises(UsageError, match="is not there; name a log's folder"):
        Log.open(tmp_path / "nowhere")
    a_file = tmp_path / "file"
    a_file.write_text("x")
    with pytest.raises(UsageError, match="is a file, not a folder"):
        WritableLog.open_to_write(a_file, made_by="voicelog test")
    with pytest.raises(UsageError, match="holds other things and is not a log"):
        WritableLog.open_to_write(tmp_path, made_by="voicelog test")
    assert stat.S_IMODE(tmp_path.stat().st_mode) == 0o700, "pytest's own folder, untouched"
    strange = tmp_path / "strange"
    strange.mkdir()
    (strange / "log.sqlite").write_text("not a database, but long enough to be looked at" * 30)
    with pytest.raises(UsageError, match="is not a voicelog log"):
        Log.open(strange)
    (strange / "log.sqlite").unlink()
    database = sqlite3.connect(strange / "log.sqlite")
    database.execute("CREATE TABLE recipes (name)")
    database.commit()
    database.close()
    with pytest.raises(UsageError, match="belongs to another program"):
        WritableLog.open_to_write(strange, made_by="voicelog test")


def test_a_full_database_is_a_full_disk_and_the_log_is_unharmed(log: WritableLog) -> None:
    """SQLite's own "database or disk is full", provoked by a limit on its pages."""
    log.add_note(spoken(), understood(VOLUME))
    pages = log._database.execute("PRAGMA page_count").fetchone()[0]
    log._database.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(DiskFull, match=r"No room is left .*what was saved before is safe"):
        log.add_note(spoken(2, "word " * 20_000), understood(VOLUME, POSTCARD))
    log._database.execute(f"PRAGMA max_page_count = {pages + 1000}")
    assert list(log.iter_notes()) == [spoken()]
    log.add_note(spoken(2), understood(VOLUME, POSTCARD))
    assert log._database.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_a_recording_is_known_by_its_bytes(log: WritableLog) -> None:
    """The same recording is found again, whatever its name."""
    recording = Recording(
        file="day-1.flac",
        uid="r-1",
        original_name="Day 1.flac",
        sha256="ab" * 32,
        size_bytes=3,
        taken_at="2031-03-02T09:15:00+00:00",
        duration_s=12.5,
    )
    log.add_recording(recording)
    assert log.find_recording("ab" * 32) == recording
    assert log.find_recording("cd" * 32) is None
    note = replace(spoken(), recording="day-1.flac")
    log.add_note(note, understood(VOLUME), heard_to_s=4.5)
    assert [kept.heard_to_s for kept in log.iter_recordings()] == [4.5]


def test_a_log_on_a_disk_that_can_not_be_written_can_be_read(tmp_path: Path) -> None:
    """A log that was put away read-only opens, as long as nobody was writing to it."""
    folder = tmp_path / "log"
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        log.add_note(spoken(), understood(VOLUME))
    (folder / "log.sqlite").chmod(0o400)
    folder.chmod(0o500)
    try:
        with Log.open(folder) as reader:
            assert reader.count_notes() == 1
    finally:
        folder.chmod(0o700)


def test_every_log_has_its_own_identity(tmp_path: Path) -> None:
    """The uid is made once and stays; the version that wrote last is kept beside it."""
    folder = tmp_path / "log"
    with WritableLog.open_to_write(folder, made_by="voicelog 1", facts={"unit": "cm"}) as log:
        first = log.facts()
    with WritableLog.open_to_write(folder, made_by="voicelog 2", facts={"unit": "inch"}) as log:
        second = log.facts()
    assert second == {**first, "made_by": "voicelog 2"}
    assert first["unit"] == "cm"
