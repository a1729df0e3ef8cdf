"""The reviewer's desk: the log, its vocabulary and its sound, for as long as pages are served."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from voicelog.errors import UsageError
from voicelog.review.pages.clips import Clips
from voicelog.review.pages.fields import spelling
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
class ReviewDesk:
    """What the pages are made from.

    Attributes:
        folder: the log's folder.
        uid: the log that was there when the desk was made.
        vocabulary: the terms that rows use.
        spell: brings terms into the spelling that is wanted.
        clips: the sound of notes.
    """

    folder: Path
    uid: str
    vocabulary: Vocabulary
    spell: Callable[[str], str]
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


def open_desk(folder: Path, vocabulary: Vocabulary, *, spelling_name: str) -> ReviewDesk:
    """Lay a log on the desk.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read.
    """
    with WorkListLog.open(folder) as log:
        uid = log.facts()["uid"]
    return ReviewDesk(
        folder=folder, uid=uid, vocabulary=vocabulary, spell=functools.partial(spelling(spelling_name))
    )
