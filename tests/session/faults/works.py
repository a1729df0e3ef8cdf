"""Work on a log that may be cut off at any instant, and what must hold afterwards.

Each work begins with a log as it was before, does what a command does, reports each thing that
a person was told is kept, and can be begun again with the same command. After whatever befell
it: the database is in order, what was reported is there, and the same command again leads to
the same log as if nothing had happened.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Protocol

import numpy as np

from tests.exports.logs import EVERYTHING
from tests.recognition.recordings import write_recording
from tests.session.bringing_in.benches import Bench, reader
from tests.session.live.bench import SILENCE, spoken_sounds
from tests.session.live.bench_day import BySound
from voicelog.domain.act import Seen
from voicelog.domain.entry import Entry, Kind
from voicelog.exports.formats import choose_format
from voicelog.exports.handing_over import hand_over
from voicelog.extraction.logbook import Logbook
from voicelog.recognition.segments import SegmentOptions
from voicelog.review.reviewer import Reviewer
from voicelog.session.recordings import Hearing, Watcher, take_recording
from voicelog.session.scribe import Scribe
from voicelog.settings import read_settings
from voicelog.store.folder import is_log_folder
from voicelog.store.log import Log
from voicelog.store.soundness import find_log_damage
from voicelog.store.writing import WritableLog
from voicelog.wiring.handing_over import make_consignment
from voicelog.wiring.keeping import back_up_log

Report = Callable[[], None]
"""Is called when one more thing is kept."""

MADE_BY = "voicelog test"
TEXTS = (
    "leaf two recto, a ticket",
    "turn over, a menu",
    "a postcard, photo corners, lifting",
    "two snapshots, paste, secure",
    "caption reads the lamplighters at the weir",
    "measures four and a quarter by six inches",
    "next leaf, a telegram",
)


class Work(Protocol):
    """Something that a command does to a log."""

    name: str

    def prepare(self, place: Path) -> None:
        """Lay out everything as it is before; the log is ``place / "log"``."""

    def run(self, place: Path, report: Report) -> None:
        """Do the work, or what is left of it."""

    def count(self, place: Path) -> int:
        """Return how many of the things that are reported are in the log."""

    def outcome(self, place: Path) -> object:
        """Return what the finished work has led to, without ids that are made by chance."""


def check_in_order(place: Path) -> None:
    """Check that a log is in order: its database, its recordings, and nothing beside them."""
    folder = place / "log"
    if not is_log_folder(folder) or not (folder / "log.sqlite").stat().st_size:
        return  # It never came so far as to begin a log.
    assert list(find_log_damage(folder)) == []
    with WritableLog.open_to_write(folder, made_by=MADE_BY) as log:
        known = {one.file for one in log.iter_recordings() if one.removed_at is None}
        there = {path.name for path in log.audio_folder.iterdir()}
    assert there == known, "a file is there of which the log knows nothing, or is missing"
    assert Bench(folder).reread().changed == 0


def check_after(work: Work, place: Path, reported: int, *, expected: object) -> None:
    """Check what is left of a work that was cut off; then do the rest, and check that.

    Args:
        work: the work.
        place: where it was done.
        reported: how many things a person had been told are kept.
        expected: what the work comes to when nothing happens.
    """
    check_in_order(place)
    # The end may come between storing a thing and saying so.
    assert reported <= work.count(place) <= reported + 1
    work.run(place, lambda: None)
    check_in_order(place)
    outcome = work.outcome(place)
    assert outcome == expected, f"{outcome!r} instead of {expected!r}"


class Transcribing:
    """Three recordings are taken in, as `voicelog transcribe` does."""

    name = "transcribe"

    def prepare(self, place: Path) -> None:
        sounds = spoken_sounds()
        for nth, order in enumerate(((0, 2, 4), (1, 3, 5), (6, 2, 0)), start=1):
            parts = [part for one in order for part in (SILENCE, sounds[one])]
            sound = np.concatenate([*parts, SILENCE])
            write_recording(place / f"day {nth}.flac", sound, codec="flac")

    def run(self, place: Path, report: Report) -> None:
        hearing = Hearing(recogniser=self._recogniser, segments=SegmentOptions())
        watcher = Watcher(taken=lambda _note, _entries: report())
        with WritableLog.open_to_write(place / "log", made_by=MADE_BY) as log:
            scribe = Scribe(log, Logbook(reader()))
            scribe.catch_up(reason="read again")
            for source in sorted(place.glob("*.flac")):
                take_recording(source, scribe, hearing, watcher=watcher)

    def count(self, place: Path) -> int:
        return len(_texts(place))

    def outcome(self, place: Path) -> object:
        with Log.open(place / "log") as log:
            recordings = [
                (one.file, one.sha256, one.finished_at is not None) for one in log.iter_recordings()
            ]
        return (
            _texts(place),
            recordings,
            [_values(entry) for entry in Bench(place / "log").entries()],
        )

    @cached_property
    def _recogniser(self) -> BySound:
        return BySound(spoken_sounds(), TEXTS)


class Reviewing:
    """A reviewer corrects, confirms, moves, splits, takes back, signs off: as the pages do."""

    name = "review"

    def prepare(self, place: Path) -> None:
        said = ["accession 2031-007", "volume one, the green book, post binding, black paper"]
        for leaf in range(1, 9):
            said += [f"leaf {leaf}, two postcards, photo corners, yellowed", "a ticket, paste"]
        Bench(place / "log").say(*said)

    def run(self, place: Path, report: Report) -> None:
        folder = place / "log"
        reviewer = Reviewer(folder, reader(), by="Ida Marsh", made_by=MADE_BY, session="today")
        acts = self._acts(folder, reviewer)
        for act in acts[self.count(place) :]:
            act()
            report()

    def count(self, place: Path) -> int:
        if not is_log_folder(place / "log"):
            return 0
        with Log.open(place / "log") as log:
            return sum(1 for _ in log.iter_acts())

    def outcome(self, place: Path) -> object:
        with Log.open(place / "log") as log:
            acts = [(act.kind, len(act.decisions)) for act in log.iter_acts()]
            history = [(one.field, one.before, one.after) for one in log.iter_history()]
        return acts, history, [_values(entry) for entry in Bench(place / "log").entries()]

    def _acts(self, folder: Path, reviewer: Reviewer) -> list[Callable[[], object]]:
        def see(leaf: int, item_type: str) -> Seen:
            with Log.open(folder) as log:
                found = (
                    one.seen
                    for one in log.iter_stored(include_void=True)
                    if one.entry.leaf == str(leaf) and item_type in one.entry.item_type
                )
                return next(found)

        acts: list[Callable[[], object]] = []
        for leaf in range(1, 9):
            acts += [
                lambda leaf=leaf: reviewer.set_value(see(leaf, "ticket"), "caption", f"no {leaf}"),
                lambda leaf=leaf: reviewer.split(see(leaf, "postcard"), {"quantity": "1"}),
                reviewer.undo,
                lambda leaf=leaf: reviewer.void(see(leaf, "ticket")),
                lambda leaf=leaf: reviewer.restore(see(leaf, "ticket")),
                lambda leaf=leaf: reviewer.confirm([see(leaf, "ticket"), see(leaf, "postcard")]),
            ]
        return acts


class BringingIn:
    """A bag from another bench comes into a log that knows part of it: `voicelog bring-in`."""

    name = "bring-in"

    def prepare(self, place: Path) -> None:
        here, there = Bench(place / "log"), Bench(place / "there")
        said = ("accession 2031-007", "volume one, the green book")
        here.say(*said, *(f"leaf {leaf}, a postcard, yellowed" for leaf in range(1, 9)))
        there.record("evening.wav", bytes(range(256)) * 800)
        there.say(*said, recording="evening.wav")
        there.say(
            *(f"leaf {leaf}, a ticket, paste" for leaf in range(5, 30)), recording="evening.wav"
        )
        there.pack(place / "bag.zip", with_audio=True)
        shutil.rmtree(place / "there")

    def run(self, place: Path, report: Report) -> None:
        Bench(place / "log").take_in(place / "bag.zip")
        report()

    def count(self, place: Path) -> int:
        with Log.open(place / "log") as log:
            return sum(1 for _ in log.iter_acts())

    def outcome(self, place: Path) -> object:
        with Log.open(place / "log") as log:
            files = [(one.file, one.sha256) for one in log.iter_recordings()]
            notes = log.count_notes()
        return files, notes, [_values(entry) for entry in Bench(place / "log").entries()]


class BackingUp:
    """A log with sound is copied: `voicelog backup`."""

    name = "backup"

    def prepare(self, place: Path) -> None:
        bench = Bench(place / "log")
        bench.record("morning.wav", bytes(range(256)) * 1_200)
        bench.say("accession 2031-007", "volume one", *(f"leaf {leaf}, a menu" for leaf in (1, 2)))

    def run(self, place: Path, report: Report) -> None:
        if not (place / "copy").exists():
            back_up_log(place / "log", place / "copy")
            report()

    def count(self, place: Path) -> int:
        return int((place / "copy").exists())

    def outcome(self, place: Path) -> object:
        assert list(find_log_damage(place / "copy")) == []
        assert not list(place.glob(".unfinished-*"))
        return [_values(entry) for entry in Bench(place / "copy").entries()]


class Exporting:
    """Everything leaves the house in several formats: `voicelog export`."""

    name = "export"
    formats = ("csv", "xlsx", "ead3", "iiif", "bag")

    def prepare(self, place: Path) -> None:
        said = (f"leaf {leaf}, a postcard, photo corners" for leaf in range(1, 30))
        Bench(place / "log").say("accession 2031-007", "volume one, the green book", *said)

    def run(self, place: Path, report: Report) -> None:
        settings = read_settings(environment={})
        for name in self.formats[self.count(place) :]:
            format_ = choose_format(name)
            out = place / f"{self.formats.index(name)}-{name}"
            rules = replace(EVERYTHING, kinds=format_.kinds)
            with Log.open(place / "log") as log:
                consignment = make_consignment(log, settings, rules)
                hand_over(consignment, format_, out, made_by=MADE_BY)
            report()

    def count(self, place: Path) -> int:
        return sum(1 for _ in place.glob("[0-9]-*"))

    def outcome(self, place: Path) -> object:
        assert not list(place.glob(".unfinished-*"))
        with Log.open(place / "log") as log:
            return [record.format for record in log.iter_exports()]


KILLED: tuple[Work, ...] = (Transcribing(), Reviewing(), BringingIn())
STARVED: tuple[Work, ...] = (*KILLED, BackingUp(), Exporting())


def _texts(place: Path) -> list[str]:
    if not is_log_folder(place / "log") or not (place / "log" / "log.sqlite").stat().st_size:
        return []
    with Log.open(place / "log") as log:
        return [note.text for note in log.iter_notes()]


def _values(entry: Entry) -> tuple[object, ...]:
    return (
        *(entry.kind, entry.accession, entry.volume, entry.leaf, entry.side, entry.item),
        *(entry.item_type, entry.quantity, entry.attachment, entry.adhesion, entry.condition),
        *(entry.caption, entry.dimensions, entry.mark, entry.status, entry.remark),
        sorted(doubt.message for doubt in entry.doubts) if entry.kind is Kind.ITEM else (),
    )
