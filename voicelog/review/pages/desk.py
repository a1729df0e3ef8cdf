"""The reviewer's desk: the log, its vocabulary and its sound, for as long as pages are served."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from voicelog.domain.entry import Entry
from voicelog.domain.note import Note
from voicelog.domain.place import describe_place
from voicelog.errors import ReviewError, UsageError
from voicelog.extraction.reader import Reader
from voicelog.review.pages.clips import Clips
from voicelog.review.pages.fields import format_value
from voicelog.review.pages.gate import Session
from voicelog.review.pages.second_hearing import SecondHearing
from voicelog.review.readings import Readings
from voicelog.review.reviewer import Reviewer
from voicelog.review.typed_relations import RELATIONS, parse_relations
from voicelog.review.typed_values import TypedValue, TypedValues
from voicelog.store.worklist import WorkListLog
from voicelog.vocabulary import TermField, Vocabulary


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """One term that can be typed into a field.

    Attributes:
        term: the preferred term.
        said: other wordings that lead to it.
        definition: one sentence.
    """

    term: str
    said: tuple[str, ...]
    definition: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A value that may have been meant.

    Attributes:
        typed: the value as it is shown and can be typed.
        why: where it comes from.
    """

    typed: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewDesk:
    """What the pages are made from.

    Attributes:
        folder: the log's folder.
        uid: the log that was there when the desk was made.
        vocabulary: the terms that rows use.
        get_reader: returns the reader of what is typed; takes a moment the first time.
        get_readings: returns what finds other readings of a value.
        made_by: this program and its version.
        spell: brings terms into the spelling that is wanted.
        second: the other recognisers of this machine.
        sample_percent: how many of a hundred undoubted entries a blind sample draws.
        clips: the sound of notes.
    """

    folder: Path
    uid: str
    vocabulary: Vocabulary
    get_reader: Callable[[], Reader]
    get_readings: Callable[[], Readings]
    made_by: str
    spell: Callable[[str], str]
    second: SecondHearing
    sample_percent: float
    clips: Clips = field(default_factory=Clips)

    @contextmanager
    def reading(self) -> Iterator[WorkListLog]:
        """Open the log to read it as it is now.

        Raises:
            UsageError: the log is gone, or another one lies in its place.
            StoreError: it can't be read.
        """
        with WorkListLog.open(self.folder) as log:
            if log.facts().get("uid") != self.uid:
                raise UsageError(
                    f"The log in {self.folder} is another one than when these pages were opened. "
                    "Start 'voicelog review' again to work on it."
                )
            yield log

    def reviewer(self, session: Session) -> Reviewer:
        """Return the reviewer who works in a session.

        Raises:
            ReviewError: nobody has said who it is.
            UsageError: the log is gone, or another one lies in its place.
        """
        if not session.reviewer:
            raise ReviewError(
                "Every change is kept with the name of who made it: write yours at the top "
                "(Reviewer) and choose Set. Nothing was changed yet."
            )
        with self.reading():
            pass
        return Reviewer(
            self.folder,
            self.get_reader(),
            by=session.reviewer,
            made_by=self.made_by,
            session=session.work,
        )

    def show(self, entry: Entry, name: str) -> str:
        """Return the value of a field in one line, in the spelling that is wanted."""
        return self.format(name, getattr(entry, name))

    def format(self, name: str, value: Any) -> str:
        """Return a value of a field in one line; relations name entries by their numbers."""
        if name != RELATIONS:
            return format_value(name, value, spell=self.spell)
        with self.reading() as log:
            related = log.read_entries([one.id for one in value])
        numbers = {one.entry.id: one.number for one in related}
        return format_value(name, value, number_of=numbers.get)

    def check_typed(self, name: str, typed: str) -> TypedValue:
        """Return what a text typed into a field comes to.

        Raises:
            ValueRefused: it is no value of this field.
        """
        values = TypedValues(self.get_reader())
        if name == "leaf":
            return TypedValue(value=describe_place(values.parse_place(typed)))
        if name == RELATIONS:
            with self.reading() as log:
                return TypedValue(value=parse_relations(typed, log.find_numbered))
        return values.parse(name, typed)

    def find_readings(self, entry: Entry, name: str, notes: Mapping[int, Note]) -> list[Offer]:
        """Return what else a field may hold, as it can be typed."""
        offers: dict[str, Offer] = {}
        for reading in self.get_readings().find(entry, name, notes):
            typed = format_value(name, reading.value, spell=self.spell)
            offers.setdefault(typed, Offer(typed=typed, why=reading.source))
        return list(offers.values())

    def suggest(self, name: str) -> tuple[Suggestion, ...]:
        """Return the terms of a field, in the vocabulary's order; none for other fields."""
        try:
            wanted = TermField(name)
        except ValueError:
            return ()
        return tuple(
            Suggestion(
                term=self.spell(concept.term),
                said=concept.variants,
                definition=concept.definition,
            )
            for concept in self.vocabulary.of_field(wanted)
        )


def read_uid(folder: Path) -> str:
    """Return which log lies in a folder.

    Raises:
        UsageError: there is none.
        StoreError: it can't be read.
    """
    with WorkListLog.open(folder) as log:
        uid: str = log.facts()["uid"]
    return uid
