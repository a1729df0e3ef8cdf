"""Words taken as they were said: captions, which may go on in the next note, and remarks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voicelog.domain.context import OpenCaption
from voicelog.domain.entry import Entry
from voicelog.domain.note import Note, Span
from voicelog.domain.statement import KeepWords, WriteCaption
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import tokenize

if TYPE_CHECKING:
    from voicelog.extraction.logbook.application import Application

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
    doubts = () if open_caption.is_empty else ("the caption was joined from two notes",)
    said = WriteCaption(text=span.text.rstrip(" .,;"), is_open=True, spans=(span,))
    entry = work.register.get(open_caption.entry)
    caption, spans = _joined(entry, "caption", said, by=" ")
    changed = work.change(entry, spans, caption=caption)
    work.doubt(changed, doubts, "caption")
    _leave_open(work, changed, is_empty=False)
    return True


def write_caption(work: Application, said: WriteCaption) -> None:
    """Write down what stands on the entries it is said of; a second inscription joins the first."""
    for entry in work.targets(said.target, field="caption"):
        changed = entry
        if said.text:
            is_restated = said.replaces and (entry.id, "caption") not in work.restated
            if is_restated:
                work.restated.add((entry.id, "caption"))
            before = None if is_restated else entry
            caption, spans = _joined(before, "caption", said, by=" / ")
            changed = work.change(entry, spans, caption=caption)
        if said.is_open:
            _leave_open(work, changed, is_empty=not said.text)


def keep_words(work: Application, said: KeepWords) -> None:
    """Put words into the remark of the first entry they are said of."""
    for entry in work.targets(said.target, field="remark")[:1]:
        before = None if said.replaces else entry
        remark, spans = _joined(before, "remark", said, by="; ")
        changed = work.change(entry, spans, remark=remark)
        work.doubt(changed, said.doubts, "remark")


def _leave_open(work: Application, entry: Entry, *, is_empty: bool) -> None:
    work.context = replace(
        work.context,
        open_caption=OpenCaption(
            entry=entry.id,
            end_s=work.note.end_s,
            recording=work.note.recording,
            is_empty=is_empty,
        ),
    )


def _joined(
    entry: Entry | None, name: str, said: WriteCaption | KeepWords, *, by: str
) -> tuple[str, tuple[Span, ...]]:
    """Return a text of an entry with what is said behind it, and the words of both."""
    earlier = None if entry is None else getattr(entry, name)
    if entry is None or earlier is None:
        return said.text, said.spans
    origin = entry.sources.get(name)
    kept = origin if isinstance(origin, tuple) else ()
    return f"{earlier}{by}{said.text}", (*kept, *said.spans)
