"""Two benches with logs of their own: notes are typed, bags made and brought in."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path

from tests.exports.logs import EVERYTHING, consign
from voicelog.domain.entry import Entry, Kind
from voicelog.domain.utterance import Utterance
from voicelog.exports.formats import choose_format, load_writer
from voicelog.exports.target import new_target
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.review.reviewer import Reviewer
from voicelog.session.bringing_in.bag_folder import open_bag
from voicelog.session.bringing_in.bringing import BroughtIn, bring_in
from voicelog.session.bringing_in.guest_log import read_guest
from voicelog.session.rereading import Rereading, reread
from voicelog.session.scribe import Scribe
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import load_vocabulary

VOCABULARY = load_vocabulary()
WITH_AUDIO = replace(EVERYTHING, include_audio=True)


@cache
def reader() -> Reader:
    return Reader(VOCABULARY, ReadingOptions())


class Bench:
    """A log, and who dictates into it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @contextmanager
    def _at_work(self) -> Iterator[tuple[WritableLog, Scribe]]:
        with WritableLog.open_to_write(self.folder, made_by="voicelog test") as log:
            scribe = Scribe(log, Logbook(reader()))
            scribe.catch_up(reason="read again")
            yield log, scribe

    def say(self, *notes: str, recording: str | None = None) -> None:
        """Take notes down."""
        with self._at_work() as (_, scribe):
            for nth, text in enumerate(notes):
                scribe.take_down(
                    Utterance(
                        text=text,
                        recording=recording,
                        start_s=None if recording is None else float(nth),
                        end_s=None if recording is None else nth + 0.5,
                    )
                )

    def record(self, file: str, sound: bytes) -> None:
        """Put a recording into the log."""
        with WritableLog.open_to_write(self.folder, made_by="voicelog test") as log:
            (log.audio_folder / file).write_bytes(sound)
            log.add_recording(
                Recording(
                    file=file,
                    uid=str(uuid.uuid4()),
                    original_name=file,
                    sha256=hashlib.sha256(sound).hexdigest(),
                    size_bytes=len(sound),
                    taken_at="2031-05-12T10:00:00+01:00",
                    duration_s=60.0,
                )
            )

    def pack(self, target: Path, *, with_audio: bool = False) -> Path:
        """Make a bag of the log."""
        rules = WITH_AUDIO if with_audio else EVERYTHING
        format_ = choose_format("bag")
        with Log.open(self.folder) as log, new_target(target, format_.shape_at(target)) as bag:
            load_writer(format_)(consign(log, rules), bag)
            bag.take_name()
        return target

    def take_in(self, bag: Path) -> BroughtIn:
        """Bring a bag in, as the command does."""
        with open_bag(bag) as opened:
            guest = read_guest(opened)
            with self._at_work() as (log, _):
                return bring_in(guest, log, VOCABULARY, source=bag.name)

    def review(self) -> Reviewer:
        """Return somebody who reviews the log."""
        return Reviewer(self.folder, reader(), by="Ida", made_by="voicelog test")

    def reread(self) -> Rereading:
        """Return what reading the log again would change."""
        with Log.open(self.folder) as log:
            return reread(log, Logbook(reader()))

    def entries(self, *, include_void: bool = False) -> list[Entry]:
        """Return the entries in display order."""
        with Log.open(self.folder) as log:
            return [entry for _, entry in log.iter_entries(include_void=include_void)]

    def items(self) -> list[str]:
        """Return each item as "leaf side number type"."""
        return [
            f"{entry.leaf} {entry.side} {entry.item} {', '.join(entry.item_type)}"
            for entry in self.entries()
            if entry.kind is Kind.ITEM
        ]

    def find(self, item_type: str) -> Entry:
        """Return the one item of a type."""
        (found,) = [entry for entry in self.entries() if item_type in entry.item_type]
        return found
