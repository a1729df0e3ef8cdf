"""The desk where notes are taken down, and what each one calls for: a tone, a sentence."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from voicelog.domain.entry import Entry, Status
from voicelog.domain.note import Note
from voicelog.domain.place import Place
from voicelog.domain.statement import GoTo, Order, TakeStep
from voicelog.domain.utterance import Utterance
from voicelog.extraction.answers import Answers
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene
from voicelog.session.live.closing import Reply
from voicelog.session.live.orders import Orders, find_orders
from voicelog.session.live.tones import Tone
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog

_CAME_LOOSE = frozenset({"detached", "enclosed"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A note that is in the log now.

    Attributes:
        note: the note.
        entries: the entries it made or changed, in their new form.
        orders: the commands in it.
        new_doubts: the doubts it brought.
        to_write: the entries whose mark, or the enclosure beside it, is to be written now.
        lacks_accession: whether something came loose that can't be marked, because no
            accession number was said yet.
        tone: what the handler hears.
    """

    note: Note
    entries: tuple[Entry, ...]
    orders: Orders
    new_doubts: tuple[str, ...]
    to_write: tuple[Entry, ...]
    lacks_accession: bool
    tone: Tone


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where the handler is.

    Attributes:
        accession: the accession number, or None.
        volume: number and name of the volume, or None.
        place: the leaf and side, or None.
        is_paused: whether notes are ignored until "resume log".
        queried: how many entries of the log are queried.
    """

    accession: str | None
    volume: str | None
    place: Place | None
    is_paused: bool
    queried: int


class Desk:
    """Takes notes down and keeps an eye on what they change."""

    def __init__(self, scribe: Scribe, logbook: Logbook, reader: Reader) -> None:
        """Sit down at a log that the scribe has caught up with."""
        self._scribe = scribe
        self._logbook = logbook
        self._reader = reader
        self._answers = Answers()
        self.latest: Entry | None = None

    @property
    def log(self) -> WritableLog:
        """The log on the desk."""
        return self._scribe.log

    @property
    def audio_folder(self) -> Path:
        """Where its recordings lie."""
        return self._scribe.log.audio_folder

    @property
    def standing(self) -> Standing:
        """Where the handler is now."""
        context = self._logbook.context
        volume = self.volume
        return Standing(
            accession=context.accession,
            volume=None if volume is None else _name_volume(volume),
            place=context.place,
            is_paused=context.is_paused,
            queried=self.log.count_statuses()[Status.QUERIED],
        )

    @property
    def volume(self) -> Entry | None:
        """The entry of the present volume, or None."""
        return self._logbook.find(self._logbook.context.volume)

    def read_reply(self, text: str) -> Reply:
        """Return what a note is as the reply to a question, before it is taken down."""
        reading = self._reader.read(Note(number=0, uid="", text=text), Surroundings(scene=Scene()))
        return Reply(
            answer=self._answers.find(text),
            orders=self.find_orders(text).given,
            moves=any(
                isinstance(one, TakeStep) or (isinstance(one, GoTo) and not one.corrects)
                for one in reading.statements
            ),
        )

    def find_orders(self, text: str) -> Orders:
        """Return the commands in a note's words, before it is taken down."""
        return find_orders(text, self._reader)

    def take(self, utterance: Utterance, *, heard_to_s: float | None = None) -> Taken:
        """Take a note down.

        Args:
            utterance: what was said.
            heard_to_s: how far its recording has been heard by now.

        Raises:
            StoreError: the log could not be written.
        """
        orders = self.find_orders(utterance.text)
        was_paused = self._logbook.context.is_paused
        note, entries = self._scribe.take_down(utterance, heard_to_s=heard_to_s)
        before = self._logbook.before_latest
        live = [entry for entry in entries if entry.status is not Status.VOID]
        if live:
            self.latest = live[-1]
        elif self.latest is not None:
            self.latest = self._logbook.find(self.latest.id)
        new_doubts = tuple(
            doubt for entry in live for doubt in _new_doubts(before[entry.id], entry)
        )
        taken = Taken(
            note=note,
            entries=entries,
            orders=orders,
            new_doubts=new_doubts,
            to_write=tuple(entry for entry in live if _is_to_write(before[entry.id], entry)),
            lacks_accession=any(_lacks_accession(before[entry.id], entry) for entry in live),
            tone=Tone.TAKEN_DOWN,
        )
        return replace(taken, tone=self._choose_tone(taken, was_paused=was_paused))

    def _choose_tone(self, taken: Taken, *, was_paused: bool) -> Tone:
        is_paused = self._logbook.context.is_paused
        if is_paused != was_paused:
            return Tone.PAUSED if is_paused else Tone.RESUMED
        is_answered = taken.note.about is not None and self._answers.find(taken.note.text)
        if taken.orders.is_all or is_answered:
            # "Check this" brings the doubt that was asked for.
            return Tone.COMMAND_DONE
        return Tone.DOUBTFUL if taken.new_doubts else Tone.TAKEN_DOWN


def is_resume(orders: Orders) -> bool:
    """Say whether a note said during a pause ends it."""
    return Order.RESUME in orders.given


def _new_doubts(before: Entry | None, entry: Entry) -> tuple[str, ...]:
    known = {doubt.message for doubt in before.doubts} if before is not None else set()
    return tuple(doubt.message for doubt in entry.doubts if doubt.message not in known)


def _is_to_write(before: Entry | None, entry: Entry) -> bool:
    if entry.mark is None:
        return False
    return before is None or before.mark is None or before.enclosure != entry.enclosure


def _lacks_accession(before: Entry | None, entry: Entry) -> bool:
    is_loose = not _CAME_LOOSE.isdisjoint(entry.action)
    was_loose = before is not None and not _CAME_LOOSE.isdisjoint(before.action)
    return is_loose and not was_loose and entry.accession is None


def _name_volume(volume: Entry) -> str:
    number, name = volume.volume, volume.volume_name
    if number and number.isdecimal():
        return f"volume {number}, {name}" if name else f"volume {number}"
    return name or number or ""
