"""Answers: what is said to a question that the program asked about an entry.

A whole note can be one of a few short answers (``language/answers.toml``). Anything else is
read as usual, but is about the entry that was asked about, and restates what it names: a
value where there is one already does not make two of it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from enum import StrEnum
from importlib import resources

from voicelog.domain.entry import Entry, Kind
from voicelog.domain.note import Note, Span
from voicelog.domain.statement import (
    CorrectItem,
    GoTo,
    KeepWords,
    NameAccession,
    NameVolume,
    OpenItem,
    SetValue,
    Statement,
    Subject,
    Target,
    WriteCaption,
)

_WORD = re.compile(r"[\w']+")


class Answer(StrEnum):
    """A short answer to a question about an entry."""

    AGREE = "agree"
    LEAVE = "leave"
    AGAIN = "again"
    REST = "rest"
    END = "end"


class Answers:
    """The wordings of the short answers."""

    def __init__(self) -> None:
        text = (resources.files("voicelog.extraction.language") / "answers.toml").read_text("utf-8")
        self._wordings = {
            wording: Answer(name)
            for name, wordings in tomllib.loads(text).items()
            for wording in wordings
        }

    def find(self, text: str) -> Answer | None:
        """Return the short answer that a whole note is, or None.

        >>> Answers().find("Leave it."), Answers().find("leave it in place")
        (<Answer.LEAVE: 'leave'>, None)
        """
        return self._wordings.get(" ".join(_WORD.findall(text.lower().replace("’", "'"))))


def as_answer(statements: Sequence[Statement], note: Note, asked: Entry) -> Iterator[Statement]:
    """Yield what a note says as an answer to a question about an entry.

    What is answered about a volume and names things in it is a count of them: it is kept
    word for word.
    """
    if asked.kind is Kind.VOLUME and any(isinstance(one, OpenItem) for one in statements):
        whole = Span(
            note=note.number,
            text=note.text,
            first=0,
            last=len(note.text),
            start_s=note.start_s,
            end_s=note.end_s,
        )
        yield KeepWords(text=note.text, target=Target(subject=Subject.VOLUME), spans=(whole,))
        return
    for statement in statements:
        match statement:
            case SetValue() | WriteCaption():
                yield replace(statement, replaces=True)
            case GoTo() | NameVolume() | NameAccession():
                yield replace(statement, corrects=True)
            case OpenItem():
                yield CorrectItem(
                    item_type=statement.item_type,
                    quantity=statement.quantity if statement.counted else None,
                    counted=statement.counted,
                    spans=statement.spans,
                    doubts=statement.doubts,
                )
            case _:
                yield statement
