"""The scribe: takes notes down, in order, each with what it changed."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass, replace

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note, Word
from voicelog.session.rereading import Interpreter, Rereading, reread
from voicelog.store.writing import Understanding, WritableLog


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """What was said or typed, before it has a number.

    The fields are those of :class:`voicelog.domain.note.Note`.
    """

    text: str
    words: tuple[Word, ...] = ()
    engine: str = "typed"
    model: str = ""
    recording: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    recorded_at: str | None = None
    handler: str | None = None
    alternatives: tuple[str, ...] = ()
    about: str | None = None


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
        self._find_about: Callable[[str], str | None] | None = None

    def expect_answer(self, find_about: Callable[[str], str | None]) -> None:
        """Take the next utterance down as the answer to a question that is still open.

        Args:
            find_about: gives the entry that the question is about, or None where what was said
                is no answer.
        """
        self._find_about = find_about

    def catch_up(self, *, reason: str) -> Rereading:
        """Read all stored notes again, so that new ones find their context.

        Entries that come out differently than they were stored (the vocabulary grew,
        the reading rules were mended) are brought up to date, with the reason; what a
        person decided stays.

        Returns:
            what came out differently.
        """
        rereading = reread(self.log, self._interpreter)
        self._last_number = self.log.count_notes()
        self.log.write_understanding(rereading.understanding, reason=reason)
        return rereading

    def take_down(
        self, utterance: Utterance, *, heard_to_s: float | None = None
    ) -> tuple[Note, tuple[Entry, ...]]:
        """Store an utterance as the next note, with the entries it made or changed.

        Args:
            utterance: what was said.
            heard_to_s: how far its recording has been heard once this note is stored.
        """
        find_about, self._find_about = self._find_about, None
        if find_about is not None and utterance.about is None:
            utterance = replace(utterance, about=find_about(utterance.text))
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
        self.log.add_note(note, self._understanding(changed), heard_to_s=heard_to_s)
        self._last_number = note.number
        return note, changed

    def _understanding(self, changed: tuple[Entry, ...]) -> Understanding:
        everything = self._interpreter.entries(include_void=True)
        return Understanding(
            changed=changed,
            order=tuple(entry.id for entry in everything),
            struck=self._interpreter.struck,
        )
