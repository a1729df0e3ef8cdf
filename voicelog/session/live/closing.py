"""Closing a volume: its doubts and findings one by one, then the count, all by voice.

A dialogue as values: a :class:`Closing` is where it stands, :func:`reply` answers what was
said with the next one and with what to say. It knows nothing of sound, and nothing is
forced: every question can be left open, and any of them ends it.

::

    doubts of each queried entry -> findings -> closing count -> where to look again
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from voicelog.checks.standing import ENTRY_DOUBTFUL
from voicelog.domain.entry import Entry, Status
from voicelog.domain.finding import Finding
from voicelog.domain.statement import Order
from voicelog.extraction.answers import Answer
from voicelog.session.live.wording import (
    say_doubts,
    say_finding,
    say_number,
    say_remedy,
    say_where,
)
from voicelog.store.log import Log

FindFindings = Callable[[Log, str | None, str | None], Sequence[Finding]]
"""Gives the findings of the closing check for a volume of a log, by accession and volume."""

_SAID_AT_THE_END = 4
_ASK_COUNT = (
    "What lies in the box? Say, for example: box one holds the volume, two folders and nine "
    "envelopes."
)


class About(StrEnum):
    """What a question is about."""

    DOUBT = "doubt"
    FINDING = "finding"
    COUNT = "count"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question.

    Attributes:
        about: what kind of question it is.
        text: the question, as it is said.
        entry: id of the entry it is about, or of the volume; an answer is taken down about it.
        is_of_place: whether it doubts the place, so that a place is an answer.
    """

    about: About
    text: str
    entry: str
    is_of_place: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """A dialogue, and how far it has come.

    Attributes:
        accession: the accession number of the volume being closed.
        volume: the volume, as entries name it.
        questions: all questions, in order.
        at: which one is being asked.
    """

    accession: str | None
    volume: str | None
    questions: tuple[Question, ...]
    at: int = 0

    @property
    def question(self) -> Question:
        """The question being asked."""
        return self.questions[self.at]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What the handler said to a question.

    Attributes:
        answer: the short answer it is, or None.
        orders: the commands in it.
        moves: whether it names a place or goes to one, without correcting anything.
    """

    answer: Answer | None = None
    orders: tuple[Order, ...] = ()
    moves: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What comes of a reply.

    Attributes:
        closing: where the dialogue stands now; None when it is over.
        about: id of the entry that the reply is to be taken down about; None where it is
            a note like any other.
        was_left: whether the handler ended it by going on with something else.
    """

    closing: Closing | None
    about: str | None = None
    was_left: bool = False


def begin_closing(
    volume: Entry, entries: Iterable[Entry], findings: Iterable[Finding] = ()
) -> Closing:
    """Return the dialogue for a volume.

    Args:
        volume: the entry of the volume.
        entries: in display order; those of other volumes are passed over.
        findings: what the closing check found.
    """
    queried = [entry for entry in _of_volume(volume, entries) if entry.status is Status.QUERIED]
    doubts = [
        Question(
            about=About.DOUBT,
            text=say_doubts(entry),
            entry=entry.id,
            is_of_place=any(doubt.field in {"leaf", "side"} for doubt in entry.doubts),
        )
        for entry in queried
    ]
    # The check names queried entries as well; they were asked about with their doubts.
    asked_already = {(ENTRY_DOUBTFUL.code, entry.id) for entry in queried}
    found = [
        Question(
            about=About.FINDING,
            text=f"{say_finding(finding)} {say_remedy(finding)}",
            entry=finding.entry or volume.id,
        )
        for finding in findings
        if finding.is_open
        and _is_of(volume, finding)
        and (finding.code, finding.entry) not in asked_already
    ]
    count = Question(about=About.COUNT, text=_ASK_COUNT, entry=volume.id)
    return Closing(
        accession=volume.accession, volume=volume.volume, questions=(*doubts, *found, count)
    )


def say_opening(closing: Closing) -> str:
    """Return what is said at the beginning: how much there is, and the first question."""
    open_count = len(closing.questions) - 1
    if open_count == 0:
        return f"Nothing is in doubt. {closing.question.text}"
    things = "One thing is" if open_count == 1 else f"{say_number(open_count)} things are"
    return (
        f"{things.capitalize()} open. Answer, or say leave it, or that's all. "
        f"{closing.question.text}"
    )


def reply(closing: Closing, said: Reply) -> Turn:
    """Return what comes of what the handler said to the question being asked.

    ========================  =================  ==================
    said                      taken down as      the dialogue
    ========================  =================  ==================
    "stop"                    an answer          is over
    "that's all"              an answer          asks for the count; is over after it
    "leave it"                an answer          goes on
    "say that again"          an answer          asks again
    "strike that"             a note             asks again
    "close volume"            a note             begins afresh
    "pause log"               a note             is over
    a place                   a note             is over; goes on after a finding
    a place, where in doubt   an answer          goes on
    anything else             an answer          goes on
    ========================  =================  ==================
    """
    question = closing.question
    asked = question.entry
    if said.answer is Answer.END:
        return Turn(closing=None, about=asked)
    if said.answer is Answer.REST:
        return Turn(closing=_count(closing), about=asked)
    if said.answer is Answer.AGAIN:
        return Turn(closing=closing, about=asked)
    if Order.READ_BACK in said.orders or Order.STRIKE in said.orders:
        return Turn(closing=closing)
    if {Order.PAUSE, Order.CLOSE_VOLUME}.intersection(said.orders):
        return Turn(closing=None, was_left=True)
    if said.moves and not (question.about is About.DOUBT and question.is_of_place):
        if question.about is About.FINDING:
            # What a finding misses ("leaf nine, blank") is said like everything else.
            return Turn(closing=_next(closing))
        return Turn(closing=None, was_left=True)
    return Turn(closing=_next(closing), about=asked)


def say_ending(closing: Closing, entries: Iterable[Entry], findings: Iterable[Finding] = ()) -> str:
    """Return what is said at the end: where to look again, as things stand now.

    Args:
        closing: the dialogue, wherever it ended.
        entries: in display order; those of other volumes are passed over.
        findings: what the closing check finds now.
    """
    queried = [
        say_where(entry)
        for entry in entries
        if entry.status is Status.QUERIED
        and (entry.accession, entry.volume) == (closing.accession, closing.volume)
    ]
    found = [
        say_finding(finding)
        for finding in findings
        if finding.is_open
        and finding.code != ENTRY_DOUBTFUL.code
        and finding.volume in {None, closing.volume}
        and finding.accession in {None, closing.accession}
    ]
    again = [*dict.fromkeys(queried), *found]
    if not again:
        return "Nothing is left open."
    told = "; ".join(one.rstrip(".") for one in again[:_SAID_AT_THE_END])
    more = len(again) - _SAID_AT_THE_END
    rest = f"; and {say_number(more)} more" if more > 0 else ""
    return f"Look again at: {told}{rest}."


def _next(closing: Closing) -> Closing | None:
    at = closing.at + 1
    return replace(closing, at=at) if at < len(closing.questions) else None


def _count(closing: Closing) -> Closing | None:
    """Leave everything else open and ask for the count; None where it was being asked for."""
    last = len(closing.questions) - 1
    return replace(closing, at=last) if closing.at < last else None


def _of_volume(volume: Entry, entries: Iterable[Entry]) -> Iterable[Entry]:
    return (
        entry
        for entry in entries
        if (entry.accession, entry.volume) == (volume.accession, volume.volume)
    )


def _is_of(volume: Entry, finding: Finding) -> bool:
    return finding.volume in {None, volume.volume} and finding.accession in {
        None,
        volume.accession,
    }
