"""The dialogue that closes a volume, at the bench: it asks, and takes the answers down."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict, replace

from voicelog.domain.entry import Entry
from voicelog.domain.finding import Finding
from voicelog.domain.statement import Order
from voicelog.domain.utterance import Utterance
from voicelog.extraction.answers import Answer
from voicelog.session.live.closing import (
    About,
    Closing,
    FindFindings,
    Question,
    Turn,
    begin_closing,
    reply,
    say_ending,
    say_opening,
)
from voicelog.session.live.desk import Desk, Taken
from voicelog.session.scribe import Scribe

_ASKED_AFTER = "after_note"
_SAYS_NOTHING = frozenset({Answer.LEAVE, Answer.AGAIN, Answer.REST, Answer.END})


class ClosingTalk:
    """Begins at "close volume"; between two dialogues, notes are taken down as ever."""

    def __init__(
        self, desk: Desk, find_findings: FindFindings, *, say: Callable[[str], None]
    ) -> None:
        """Prepare to ask.

        Args:
            desk: where answers are taken down.
            find_findings: gives the findings that are asked about.
            say: says a sentence to the handler.
        """
        self._desk = desk
        self._find_findings = find_findings
        self._say = say
        self._closing: Closing | None = None
        self._turn: Turn | None = None
        self._keep_question()

    @property
    def question(self) -> str:
        """What is being asked, or ""."""
        return self._closing.question.text if self._closing is not None else ""

    def take(self, utterance: Utterance) -> Taken:
        """Take a note down; where it answers a question, about what was asked."""
        self._turn = None
        if self._closing is not None:
            self._turn = reply(self._closing, self._desk.read_reply(utterance.text))
            utterance = replace(utterance, about=self._turn.about)
        return self._desk.take(utterance, heard_to_s=utterance.end_s)

    def go_on(self, taken: Taken) -> str:
        """Ask what comes next after a note; return where to look again once it is over."""
        ending = self._go_on(taken)
        self._keep_question()
        return ending

    def _go_on(self, taken: Taken) -> str:
        before, turn = self._closing, self._turn
        if Order.CLOSE_VOLUME in taken.orders.given:
            self._begin()
        elif before is not None and turn is not None:
            self._closing = turn.closing
            if turn.closing is not None:
                self._say(turn.closing.question.text)
            elif not turn.was_left:
                ending = say_ending(before, *self._look_at(before.accession, before.volume))
                self._say(ending)
                return ending
        return ""

    def _begin(self) -> None:
        volume = self._desk.volume
        if volume is None:
            self._closing = None
            self._say("No volume was named yet.")
            return
        seen = self._look_at(volume.accession, volume.volume)
        self._closing = begin_closing(volume, *seen)
        self._say(say_opening(self._closing))

    def _look_at(
        self, accession: str | None, volume: str | None
    ) -> tuple[Iterable[Entry], Iterable[Finding]]:
        """Return the entries of a volume as reviewers left them, and what the check finds."""
        log = self._desk.log
        entries = tuple(one.entry for one in log.iter_of_volume(accession, volume))
        return entries, self._find_findings(log, accession, volume)

    def _keep_question(self) -> None:
        """Keep the open question in the log: its answer may be heard only after a crash."""
        log = self._desk.log
        question = None
        if self._closing is not None:
            asked = self._closing.question
            question = {**asdict(asked), _ASKED_AFTER: log.count_notes()}
        if log.facts().get("question") != question:
            log.keep_question(question)


def expecting_answers(scribe: Scribe, desk: Desk) -> AbstractContextManager[None]:
    """Have what is heard first after a crash answer the question that was open.

    Where a note was taken down since the question was asked, that was the answer. Nothing more
    had been asked when the crash came, so behind the first answer only "leave it", "that's all"
    and their like are still answers.
    """
    kept = desk.log.facts().get("question")
    if not kept or kept[_ASKED_AFTER] != desk.log.count_notes():
        return nullcontext()
    question = Question(
        about=About(kept["about"]),
        text=kept["text"],
        entry=kept["entry"],
        is_of_place=kept["is_of_place"],
    )
    closing = Closing(accession=None, volume=None, questions=(question,))
    first = desk.log.count_notes() + 1

    def find_about(text: str) -> str | None:
        said = desk.read_reply(text)
        is_first = desk.log.count_notes() + 1 == first
        return reply(closing, said).about if is_first or said.answer in _SAYS_NOTHING else None

    return scribe.expecting_answers(find_about)
