"""Captions that go on in the next note."""

from __future__ import annotations

from voicelog.domain.note import Note
from voicelog.domain.statement import Subject, Target, WriteCaption
from voicelog.extraction.logbook.application import Application
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import tokenize

LONGEST_GAP_S = 3.0
"""A caption stays open for a note that begins within this time after it."""


def continue_caption(work: Application, note: Note) -> bool:
    """Join a note to the caption that the note before it left open.

    Returns:
        Whether the note was joined; the join raises a doubt, unless nothing of the
        caption had been said yet.
    """
    open_caption = work.context.open_caption
    tokens = tokenize(note.text)
    if open_caption is None or not tokens or work.context.is_paused:
        return False
    is_near = (
        open_caption.end_s is not None
        and note.start_s is not None
        and note.recording == open_caption.recording
        and 0 <= note.start_s - open_caption.end_s <= LONGEST_GAP_S
    )
    if not is_near and not open_caption.is_empty:
        return False
    span = Wording(note, tokens).span(0, len(tokens))
    text = span.text.rstrip(" .,;")
    doubts = () if open_caption.is_empty else ("the caption was joined from two notes",)
    work.continue_caption(
        open_caption.entry,
        WriteCaption(
            text=text,
            is_open=True,
            target=Target(subject=Subject.LATEST),
            spans=(span,),
            doubts=doubts,
        ),
    )
    return True
