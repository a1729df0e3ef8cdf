"""The whole life of a log against a simple model: dictated, struck, reviewed, redacted, read again.

Hypothesis chooses what happens next. The model only remembers what must hold whatever comes
after: what was said, what a person decided, which ids and marks were given out. More of it:
``python -m tests.fuzz.life``.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from tests.review.desk import Desk
from voicelog.domain.entry import Kind, Status
from voicelog.domain.redaction import MASK
from voicelog.errors import ReviewError
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.review.acting import Done
from voicelog.store.entry_log import StoredEntry
from voicelog.store.log import Log
from voicelog.store.soundness import find_log_damage
from voicelog.vocabulary import load_vocabulary

SAYINGS = (
    "next leaf",
    "turn over",
    "leaf four recto",
    "a postcard, photo corners, yellowed",
    "two snapshots, paste",
    "a ticket and a menu",
    "caption reads Ada Fenn at the weir",
    "dated June fourth nineteen fifty two",
    "it came off",
    "goes in envelope seven",
    "correction, leaf nine",
    "correction, a telegram",
    "strike that",
    "another one, the same",
    "check this",
    "remark Ada Fenn gave it to us",
    "blorf",
)
CAPTIONS = ("the lamps", "the green door", "no one knows")
READER = Reader(load_vocabulary(), ReadingOptions())


class Life(RuleBasedStateMachine):
    """A log, and what must be true of it."""

    def __init__(self) -> None:
        super().__init__()
        self.place = Path(tempfile.mkdtemp(prefix="voicelog-life-"))
        self.desk = Desk(self.place / "log", READER)
        self.said: list[str] = []
        self.captions: dict[str, str] = {}
        self.states: dict[str, Status] = {}
        self.marks: dict[str, str] = {}
        self.ids: set[str] = set()

    @initialize()
    def begin(self) -> None:
        self._say("accession 2031-007", "volume one, the green book", "leaf two, a photograph")

    def teardown(self) -> None:
        shutil.rmtree(self.place)

    # What happens ---------------------------------------------------------------------------

    @rule(text=st.sampled_from(SAYINGS))
    def say(self, text: str) -> None:
        self._say(text)

    @rule(nth=st.integers(0, 99), caption=st.sampled_from(CAPTIONS))
    def correct_a_caption(self, nth: int, caption: str) -> None:
        one = self._choose(nth)
        if self._do(lambda: self.desk.reviewer.set_value(one.seen, "caption", caption)):
            self.captions[one.entry.id] = caption

    @rule(nth=st.integers(0, 99))
    def confirm(self, nth: int) -> None:
        one = self._choose(nth)
        if self._do(lambda: self.desk.reviewer.confirm([one.seen])):
            self.states[one.entry.id] = Status.CONFIRMED

    @rule(nth=st.integers(0, 99))
    def reopen(self, nth: int) -> None:
        one = self._choose(nth)
        if self._do(lambda: self.desk.reviewer.reopen(one.seen)):
            self.states.pop(one.entry.id, None)

    @rule(nth=st.integers(0, 99))
    def make_void(self, nth: int) -> None:
        one = self._choose(nth)
        if self._do(lambda: self.desk.reviewer.void(one.seen)):
            self.states[one.entry.id] = Status.VOID

    @rule(nth=st.integers(0, 99))
    def restore(self, nth: int) -> None:
        one = self._choose(nth)
        if self._do(lambda: self.desk.reviewer.restore(one.seen)):
            self.states.pop(one.entry.id, None)

    @rule(nth=st.integers(0, 99), typed=st.sampled_from(("leaf 3 verso", "front cover", "9")))
    def move(self, nth: int, typed: str) -> None:
        one = self._choose(nth)
        self._do(lambda: self.desk.reviewer.move(one.seen, typed))

    @rule(nth=st.integers(0, 99))
    def split(self, nth: int) -> None:
        one = self._choose(nth)
        self._do(lambda: self.desk.reviewer.split(one.seen, {"quantity": "1"}))

    @rule(into=st.integers(0, 99), other=st.integers(0, 99))
    def merge(self, into: int, other: int) -> None:
        one, two = self._choose(into), self._choose(other)
        if self._do(lambda: self.desk.reviewer.merge(one.seen, two.seen)):
            # What both become is for the tests of merging; from here on it must only stay.
            self._learn_again(one.entry.id, two.entry.id)

    @rule()
    def undo(self) -> None:
        done = self._do(self.desk.reviewer.undo)
        if done:
            self._learn_again(*(seen.entry for seen in done.changed))

    @precondition(lambda self: any("Fenn" in text for text in self.said))
    @rule()
    def redact(self) -> None:
        found = self.desk.reviewer.redacting.find("Fenn")
        if self._do(lambda: self.desk.reviewer.redacting.redact(found, reason="a name")):
            self.said = [text.replace("Fenn", MASK * 4) for text in self.said]

    # What must hold -------------------------------------------------------------------------

    @invariant()
    def every_note_is_what_was_said(self) -> None:
        with Log.open(self.desk.folder) as log:
            assert [note.text for note in log.iter_notes()] == self.said

    @invariant()
    def nothing_that_was_decided_is_lost(self) -> None:
        now = {one.entry.id: one.entry for one in self._stored()}
        assert self.ids <= now.keys()
        for id_, caption in self.captions.items():
            assert now[id_].caption == caption
        for id_, status in self.states.items():
            assert now[id_].status is status
        self.ids |= now.keys()

    @invariant()
    def a_mark_stays_and_is_given_once(self) -> None:
        marked = {one.entry.id: one.entry.mark for one in self._stored() if one.entry.mark}
        for id_, mark in self.marks.items():
            assert marked.get(id_) == mark
        assert len(set(marked.values())) == len(marked)
        self.marks |= marked

    @invariant()
    def reading_again_changes_nothing(self) -> None:
        assert self.desk.reread().changed == 0

    @invariant()
    def the_file_is_in_order(self) -> None:
        assert list(find_log_damage(self.desk.folder)) == []

    # Helpers ---------------------------------------------------------------------------------

    def _say(self, *texts: str) -> None:
        self.desk.say(*texts)
        self.said += texts

    def _stored(self) -> list[StoredEntry]:
        with Log.open(self.desk.folder) as log:
            return list(log.iter_stored(include_void=True))

    def _choose(self, nth: int) -> StoredEntry:
        items = [one for one in self._stored() if one.entry.kind is Kind.ITEM]
        return items[nth % len(items)]

    def _do(self, act: Callable[[], Done]) -> Done | None:
        """Do an act; one that is refused changes nothing."""
        before = self._stored()
        try:
            return act()
        except ReviewError:
            assert self._stored() == before
            return None

    def _learn_again(self, *ids: str) -> None:
        now = {one.entry.id: one.entry for one in self._stored()}
        for id_ in ids:
            if id_ in self.captions:
                del self.captions[id_]
            self.states.pop(id_, None)
            if now[id_].status in {Status.CONFIRMED, Status.VOID}:
                self.states[id_] = now[id_].status


TestLife = Life.TestCase
TestLife.settings = settings(
    max_examples=4,
    stateful_step_count=12,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
