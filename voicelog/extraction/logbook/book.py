"""The logbook: takes notes one after the other and keeps the entries.

Same notes, same entries, same ids: entry ids are made from the note's uid, and nothing
but the notes and the reading options goes in. "Strike that" puts back what the latest
note changed, place and numbering included. What a reviewer decided between two notes is taken
in at that point (:meth:`Logbook.take_act`) and stands against every later note.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import replace

from voicelog.domain.act import Act, is_decided
from voicelog.domain.bookmark import Bookmark, Frame
from voicelog.domain.context import Context
from voicelog.domain.entry import Doubt, Entry, Status
from voicelog.domain.note import Note
from voicelog.domain.shelf import Shelf
from voicelog.domain.statement import GiveOrder, Order, Statement
from voicelog.extraction.answers import Answer, Answers, as_answer
from voicelog.extraction.doubting.evidence import Hearing, hear
from voicelog.extraction.doubting.unclear import settle_heard
from voicelog.extraction.logbook.application import Application
from voicelog.extraction.logbook.captions import continue_caption
from voicelog.extraction.logbook.contradictions import say_struck
from voicelog.extraction.logbook.decisions import Decisions
from voicelog.extraction.logbook.finishing import cautions_of, finish
from voicelog.extraction.logbook.register import Register
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene

STRIKES_REMEMBERED = 100
"""How many notes back "strike that", said again and again, can reach."""


class Logbook:
    """The entries that a sequence of notes gives, and the context they have led to."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._answers = Answers()
        self._register = Register()
        self._context = Context()
        self._journal: deque[Frame] = deque(maxlen=STRIKES_REMEMBERED)
        self._struck: set[int] = set()
        self._by_note: dict[int, dict[str, None]] = {}
        self._before_latest: dict[str, Entry | None] = {}
        self._decisions = Decisions(self._register, self._finish)

    @property
    def context(self) -> Context:
        """Where the handler is now."""
        return self._context

    @property
    def struck(self) -> frozenset[int]:
        """Numbers of the notes that were struck."""
        return frozenset(self._struck)

    @property
    def bookmark(self) -> Bookmark:
        """What another logbook can go on from."""
        return Bookmark(context=self._context, frames=tuple(self._journal))

    @property
    def before_latest(self) -> Mapping[str, Entry | None]:
        """The entries that the latest note changed, as they were; None for those it made."""
        return self._before_latest

    def way_of_reading(self, note: int) -> str:
        """Return a digest of all that decides how the notes up to a number are read."""
        return self._reader.digest(up_to=note)

    def go_on(self, bookmark: Bookmark, shelf: Shelf) -> None:
        """Go on, before anything is read, from where another logbook has come to.

        Args:
            bookmark: what that one had come to.
            shelf: the entries it had.
        """
        self._register = Register(shelf)
        self._decisions = Decisions(self._register, self._finish)
        self._context = bookmark.context
        self._journal.extend(bookmark.frames)

    def follow(self, act: Act) -> None:
        """Let the context follow an act whose entries lie on the shelf as it left them."""
        self._context = self._decisions.follow(act, self._context)

    def find(self, entry_id: str | None) -> Entry | None:
        """Return the entry with this id, or None."""
        return self._register.find(entry_id)

    def born_in_order(self) -> tuple[str, ...]:
        """Return the ids of all entries in the order in which they came into being."""
        return self._register.born_in_order()

    def entries_of(self, note: int) -> tuple[str, ...]:
        """Return the ids of the entries that a note created or changed."""
        return tuple(self._by_note.get(note, ()))

    def take(self, note: Note) -> tuple[Entry, ...]:
        """Read a note and apply it.

        Returns:
            The entries that the note created or changed, in their new form; voided ones
            are among them.
        """
        hearing, self._context = hear(note, self._context)
        self._before_latest = {}
        asked = self._register.find(note.about)
        if asked is not None:
            return self._take_answer(note, asked, hearing)
        reading = self._reader.read(note, self._surroundings(hearing))
        touched: dict[str, None] = {}
        work = self._begin(note)
        if reading.begins_freely and continue_caption(work, note):
            self._end(work, touched)
            return self._results(touched)
        for statement in reading.statements:
            if self._is_ignored(work.context, statement):
                continue
            if isinstance(statement, GiveOrder) and statement.order is Order.STRIKE:
                self._end(work, touched)
                touched.update(dict.fromkeys(self._strike()))
                work = self._begin(note)
                continue
            work.apply(statement)
        self._end(work, touched)
        return self._results(touched)

    def recall(self, stored: Iterable[Entry]) -> None:
        """Learn, before anything is read, what the log holds already.

        Marks that were given out stay with their entries, and what was confirmed is taken as
        it was confirmed.
        """
        known = tuple(stored)
        self._register.know_marks(known)
        self._decisions.recall(known)

    def begin_at(self, context: Context, entries: Iterable[Entry]) -> None:
        """Go on in the middle of a log: where the handler is, and the entries around."""
        self._context = context
        for entry in entries:
            self._register.put(entry)

    def take_act(self, act: Act) -> None:
        """Do what a reviewer decided between two notes."""
        self._context = self._decisions.take(act, self._context)

    def as_read(self) -> Mapping[str, Entry]:
        """Return the confirmed entries as the notes alone would have given them."""
        return self._decisions.as_read

    def _take_answer(self, note: Note, asked: Entry, hearing: Hearing | None) -> tuple[Entry, ...]:
        """Read a note that answers a question about an entry; the place stays where it was."""
        touched: dict[str, None] = {}
        before = self._context
        there = replace(
            before,
            leaf=asked.leaf,
            side=asked.side,
            latest=asked.id,
            together=(),
            place_doubts=(),
            open_caption=None,
        )
        work = Application(
            self._register, there, note, len(self.entries_of(note.number)), asked=asked.id
        )
        answer = self._answers.find(note.text)
        if answer is None:
            reading = self._reader.read(note, self._surroundings(hearing))
            for statement in as_answer(reading.statements, note, asked):
                work.apply(statement)
        elif answer is Answer.AGREE and asked.doubts:
            work.change(settle_heard(asked), doubts=())
        work.context = before
        self._end(work, touched)
        return self._results(touched)

    def entries(self, *, include_void: bool = False) -> tuple[Entry, ...]:
        """Return the whole log in display order."""
        return tuple(
            entry
            for entry in self._register.in_order()
            if include_void or entry.status is not Status.VOID
        )

    def _surroundings(self, hearing: Hearing | None) -> Surroundings:
        context = self._context
        names = tuple(
            entry.volume_name
            for entry in self._register.volume_entries(context.accession)
            if entry.volume_name
        )
        key = (context.accession, self._volume_label(), context.leaf, context.side)
        return Surroundings(
            scene=Scene(
                has_volume=context.volume is not None,
                has_leaf=context.leaf is not None,
                item_types=tuple(
                    term for entry in self._register.items_of(key) for term in entry.item_type
                ),
            ),
            volume_names=names,
            place=context.place,
            hearing=hearing,
        )

    def _volume_label(self) -> str | None:
        volume = self._register.find(self._context.volume)
        return volume.volume if volume else None

    def _begin(self, note: Note) -> Application:
        return Application(self._register, self._context, note, len(self.entries_of(note.number)))

    def _end(self, work: Application, touched: dict[str, None]) -> None:
        before = self._context
        self._context = work.finish()
        if work.before or _without_pause(self._context) != _without_pause(before):
            self._journal.append(
                Frame(note=work.note.number, context=before, before=dict(work.before))
            )
        touched.update(dict.fromkeys(work.before))
        self._before_latest = {**work.before, **self._before_latest}
        self._by_note.setdefault(work.note.number, {}).update(dict.fromkeys(work.before))

    def _strike(self) -> tuple[str, ...]:
        """Put back what the latest note not yet struck has changed."""
        if not self._journal:
            return ()
        frame = self._journal.pop()
        self._struck.add(frame.note)
        while self._journal and self._journal[-1].note == frame.note:
            earlier = self._journal.pop()
            frame = replace(earlier, before={**frame.before, **earlier.before})
        before = {entry_id: self._register.get(entry_id) for entry_id in frame.before}
        self._before_latest = {**before, **self._before_latest}
        for entry_id, entry in frame.before.items():
            self._put_back(entry_id, entry, note=frame.note)
        now = self._context
        self._context = replace(
            frame.context,
            is_paused=now.is_paused,
            words_heard=now.words_heard,
            scores_heard=now.scores_heard,
        )
        return tuple(frame.before)

    def _put_back(self, entry_id: str, before: Entry | None, *, note: int) -> None:
        """Put an entry back as it was before a note, but for what a person decided since."""
        now = self._register.get(entry_id)
        decided = {name: origin for name, origin in now.sources.items() if is_decided(now, name)}
        if now.status is not Status.CONFIRMED and not decided:
            self._register.put(before or replace(now, status=Status.VOID))
            return
        struck = Doubt(message=say_struck(note))
        if before is None or now.status is Status.CONFIRMED:
            kept = replace(now, doubts=(*now.doubts, struck))
        else:
            values = {name: getattr(now, name) for name in decided}
            kept = replace(before, **values, sources={**before.sources, **decided})
        self._register.put(kept)

    @staticmethod
    def _is_ignored(context: Context, statement: Statement) -> bool:
        if not context.is_paused:
            return False
        return not (isinstance(statement, GiveOrder) and statement.order is Order.RESUME)

    def _results(self, touched: dict[str, None]) -> tuple[Entry, ...]:
        return tuple(self._finish(self._register.get(entry_id)) for entry_id in touched)

    def _finish(self, entry: Entry) -> Entry:
        """Put an entry with everything that follows from its values, and return it."""
        shown = tuple(
            caution
            for caution in cautions_of(entry, self._reader.vocabulary)
            if not self._register.is_shown_elsewhere(caution, beside=entry)
        )
        finished = finish(
            entry,
            self._reader.vocabulary,
            shown,
            query_below=self._reader.options.query_below,
        )
        if finished != entry:
            self._register.put(finished)
        return finished


def _without_pause(context: Context) -> Context:
    return replace(context, is_paused=False, open_caption=None, together=())
