"""A log with something of everything, spoiled in places, and what must hold once it is salvaged."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from tests.recognition.recordings import make_tone, write_recording
from tests.session.bringing_in.benches import Bench
from voicelog.domain.entry import Entry, Status
from voicelog.domain.note import Note
from voicelog.session.salvaging import READ_ANEW, Salvaged
from voicelog.settings import read_settings
from voicelog.store.folder import DATABASE_NAME
from voicelog.store.log import Log
from voicelog.store.salvage.rebuilding import Losses
from voicelog.store.soundness import find_log_damage
from voicelog.wiring.keeping import salvage_log

PAGE_BYTES = 4096
TYPES = ("postcard", "ticket", "snapshot", "newspaper clipping", "telegram", "menu")


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """A log before anything befell it."""

    folder: Path
    notes: tuple[Note, ...]
    entries: tuple[Entry, ...]

    @property
    def pages(self) -> int:
        return (self.folder / DATABASE_NAME).stat().st_size // PAGE_BYTES


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """A log that was salvaged, and what was said to be lost."""

    folder: Path
    losses: Losses
    salvaged: Salvaged
    notes: tuple[Note, ...]
    entries: tuple[Entry, ...]


def make_whole(folder: Path, *, leaves: int = 40) -> Whole:
    """Dictate a log from a recording, have it reviewed, and dictate on."""
    bench = Bench(folder)
    bench.record("morning.flac", _sound(folder.parent))
    bench.say("accession 2031-007", "volume one, the green book, post binding, black paper")
    said = []
    for leaf in range(1, leaves + 1):
        what = TYPES[leaf % len(TYPES)]
        said += [
            "next leaf",
            f"a {what}, photo corners, yellowed",
            f"caption reads the lamplighters at the weir, number {leaf}",
        ]
        if leaf % 7 == 0:
            said += ["a map", "strike that", "turn over", "a badge, pin, lifting, it came off"]
    bench.say(*said, recording="morning.flac")
    reviewer = bench.review()
    with Log.open(folder) as log:
        seen = {one.entry.leaf: one.seen for one in log.iter_stored() if one.entry.leaf}
    reviewer.confirm([seen["3"], seen["4"], seen["5"]])
    reviewer.set_value(seen["9"], "caption", "the lamps at the station")
    reviewer.void(seen["11"])
    bench.say("next leaf", "a ribbon", "goes in envelope seven")
    return Whole(folder=folder, notes=_notes(folder), entries=_entries(folder))


def rescue(damaged: Path, target: Path) -> Rescue:
    """Salvage a damaged log."""
    losses, salvaged = salvage_log(damaged, target, read_settings(environment={}))
    return Rescue(
        folder=target,
        losses=losses,
        salvaged=salvaged,
        notes=_notes(target),
        entries=_entries(target),
    )


def copy(whole: Whole, target: Path) -> Path:
    """Return the database of a copy of the whole log, to be spoiled."""
    shutil.copytree(whole.folder, target)
    return target / DATABASE_NAME


def page_holding(log: Path, table: str) -> int:
    """Return the last page on which a table of a log has rows, as SQLite tells it."""
    with closing(sqlite3.connect(log / DATABASE_NAME)) as database:
        found = database.execute(
            "SELECT max(pageno) FROM dbstat WHERE name = ? AND pagetype = 'leaf'", [table]
        )
        return int(found.fetchone()[0])


def check(whole: Whole, rescued: Rescue) -> None:
    """Check that what is there is right, and that what is not there was named.

    Notes that are not said to be lost are as they were. So are all entries, but for those that
    were lost with their notes and those read anew, which are queried for it. The log is in
    order, reads the same again, and takes further notes.
    """
    before = {note.number: note for note in whole.notes}
    after = {note.number: note for note in rescued.notes}
    # Of a note behind the last that anything tells of, nobody can know.
    assert set(after) == set(range(1, len(after) + 1)) <= set(before)
    lost = {*rescued.losses.notes, *rescued.losses.notes_from_words, *(set(before) - set(after))}
    for number, note in after.items():
        if number in rescued.losses.notes:
            assert note.text == ""
        elif number in lost:
            assert note.text == before[number].text
        else:
            assert _without_words(note) == _without_words(before[number])
    then = {entry.id: entry for entry in whole.entries}
    now = {entry.id: entry for entry in rescued.entries}
    for id_, entry in now.items():
        doubts = [doubt.message for doubt in entry.doubts]
        if READ_ANEW in doubts:
            assert entry.status is Status.QUERIED
        elif entry.status is Status.VOID and id_ in then:
            assert then[id_].status is Status.VOID
        elif id_ in then:
            assert _values(entry) == _values(then[id_]), (
                f"{_values(entry)} was {_values(then[id_])}"
            )
        else:
            raise AssertionError(f"nobody ever logged {entry}")
    for id_, entry in then.items():
        assert id_ in now or lost.intersection(entry.notes), f"{entry} is missing"
    assert list(find_log_damage(rescued.folder)) == []
    bench = Bench(rescued.folder)
    assert bench.reread().changed == 0
    numbers = len(rescued.notes)
    bench.say("leaf ninety, a poster")
    assert len(_notes(rescued.folder)) == numbers + 1


def _values(entry: Entry) -> tuple[object, ...]:
    return (
        entry.kind,
        *(entry.accession, entry.volume, entry.leaf, entry.side, entry.item),
        *(entry.item_type, entry.attachment, entry.adhesion, entry.condition, entry.action),
        *(entry.caption, entry.enclosure, entry.mark, entry.remark, entry.binding, entry.support),
        entry.status is Status.VOID,
        entry.status is Status.CONFIRMED,
    )


def _without_words(note: Note) -> tuple[object, ...]:
    return (note.uid, note.text, note.recording, note.start_s, note.end_s, note.engine)


def _notes(folder: Path) -> tuple[Note, ...]:
    with Log.open(folder) as log:
        return tuple(log.iter_notes())


def _entries(folder: Path) -> tuple[Entry, ...]:
    with Log.open(folder) as log:
        return tuple(entry for _, entry in log.iter_entries(include_void=True))


def _sound(folder: Path) -> bytes:
    path = folder / "morning.flac"
    write_recording(path, make_tone(seconds=2.0), codec="flac")
    return path.read_bytes()
