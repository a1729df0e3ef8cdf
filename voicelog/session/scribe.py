"""The scribe: takes notes down, in order, each with what it changed."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from voicelog.domain.bookmark import Bookmark
from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.domain.utterance import Utterance
from voicelog.session.rereading import Interpreter, Rereading, go_on, reread
from voicelog.store.kept_reading import KeptReading
from voicelog.store.writing import Understanding, WritableLog


def _new_uid() -> str:
    return str(uuid.uuid4())


class Scribe:
    """Gives each utterance a number, has it understood, and stores both at once."""

    def __init__(
        self,
        log: WritableLog,
        interpreter: Interpreter,
        *,
        new_uid: Callable[[], str] = _new_uid,
    ) -> None:
        self.log = log
        self._interpreter = interpreter
        self._new_uid = new_uid
        self._last_number = 0
        self._struck: frozenset[int] = frozenset()
        self._find_about: Callable[[str], str | None] | None = None

    @contextmanager
    def expecting_answers(self, find_about: Callable[[str], str | None]) -> Iterator[None]:
        """Take what comes next down as the answer to a question that is still open.

        Args:
            find_about: gives the entry that an utterance answers a question about, or None
                where it is no answer; it is not asked again then.
        """
        self._find_about = find_about
        try:
            yield
        finally:
            self._find_about = None

    def catch_up(self, *, reason: str, afresh: bool = False) -> Rereading:
        """Find out where the stored notes have led to, so that new ones find their context.

        Reading goes on from where it had come to the last time. All notes are read again where
        they would be read otherwise now (the vocabulary grew, the reading rules were mended).
        Entries that come out differently than they were stored are brought up to date then,
        with the reason; what a person decided stays.

        Args:
            reason: why entries change.
            afresh: whether to read all notes in any case.

        Returns:
            what came out differently.
        """
        self._last_number = self.log.count_notes()
        if not afresh and go_on(self.log, self._interpreter):
            return Rereading(notes=0, changes=(), understanding=Understanding(changed=()))
        rereading = reread(self.log, self._interpreter)
        self._struck = self._interpreter.struck
        kept = self._keep(rereading.last_note, rereading.bookmark or self._interpreter.bookmark)
        self.log.write_understanding(
            rereading.understanding,
            reason=reason,
            kept=replace(kept, otherwise=rereading.otherwise),
        )
        return rereading

    def take_down(
        self, utterance: Utterance, *, heard_to_s: float | None = None
    ) -> tuple[Note, tuple[Entry, ...]]:
        """Store an utterance as the next note, with the entries it made or changed.

        Args:
            utterance: what was said.
            heard_to_s: how far its recording has been heard once this note is stored.
        """
        if self._find_about is not None and utterance.about is None:
            utterance = replace(utterance, about=self._find_about(utterance.text))
            if utterance.about is None:
                self._find_about = None
        note = Note(
            number=self._last_number + 1,
            uid=self._new_uid(),
            text=utterance.text,
            words=utterance.words,
            engine=utterance.engine,
            model=utterance.model,
            recording=utterance.recording,
            start_s=utterance.start_s,
            end_s=utterance.end_s,
            recorded_at=utterance.recorded_at,
            handler=utterance.handler,
            alternatives=utterance.alternatives,
            about=utterance.about,
        )
        changed = self._interpreter.take(note)
        struck = self._interpreter.struck
        self.log.add_note(
            note,
            Understanding(changed=changed, struck=struck - self._struck),
            heard_to_s=heard_to_s,
            kept=self._keep(note.number, self._interpreter.bookmark),
        )
        self._last_number = note.number
        self._struck = struck
        return note, changed

    def _keep(self, note: int, bookmark: Bookmark) -> KeptReading:
        return KeptReading(
            note=note,
            act=self.log.last_act(),
            way=self._interpreter.way_of_reading(note),
            bookmark=bookmark,
        )
