"""Taking words and their sound out of the log for good: found first, then chosen, then gone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from voicelog.domain.note import Note
from voicelog.domain.redaction import RedactedStretch
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame, session_of
from voicelog.review.pages.routes.counter import BackForm, Counter

HOME = "/redactions"

Words = Annotated[str, StringConstraints(max_length=200)]
Place = Annotated[str, StringConstraints(max_length=60, pattern=r"^\d{1,15}:\d{1,9}:\d{1,9}$")]


class SearchForm(BaseModel):
    """The words to look for; in a form, so that they stay out of addresses and histories."""

    model_config = ConfigDict(extra="ignore")

    words: Words


class RedactForm(BackForm):
    """Where the words stand, each as "note:first:last", and why they have to go."""

    places: Annotated[list[Place], Field(min_length=1, max_length=10_000)]
    reason: Annotated[str, StringConstraints(max_length=500)]

    def stretches(self) -> list[RedactedStretch]:
        """Return the stretches that the form names."""
        return [
            RedactedStretch(note=note, first=first, last=last)
            for note, first, last in (map(int, place.split(":")) for place in self.places)
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A stretch with what stands around it."""

    place: str
    note: int
    before: str
    text: str
    after: str
    has_sound: bool


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the page of redactions."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.get(HOME)
    def redactions(request: Request) -> Response:
        """List what was redacted, and ask for words."""
        return _show(request, words="", found=None)

    @router.post(f"{HOME}/find")
    def find(request: Request, form: Annotated[SearchForm, Form()]) -> Response:
        """Show every place where the words stand."""
        stretches = desk.reviewer(session_of(request)).redacting.find(form.words)
        with desk.reading() as log:
            notes = log.read_notes({stretch.note for stretch in stretches})
        found = [
            _make_found(stretch, notes[stretch.note])
            for stretch in stretches
            if stretch.note in notes
        ]
        return _show(request, words=form.words, found=found)

    @router.post(HOME)
    def redact(request: Request, form: Annotated[RedactForm, Form()]) -> Response:
        """Take the words out."""
        return counter.take(
            request,
            form,
            lambda one: one.redacting.redact(form.stretches(), reason=form.reason),
            told="The words and their sound are taken out of the log.",
        )

    def _show(request: Request, *, words: str, found: list[Found] | None) -> Response:
        with desk.reading() as log:
            done = tuple(log.iter_redactions())
        return pages.fill(
            "redactions.html",
            frame=make_frame(request),
            words=words,
            found=found,
            redactions=done,
        )

    return router


def _make_found(stretch: RedactedStretch, note: Note) -> Found:
    return Found(
        place=f"{stretch.note}:{stretch.first}:{stretch.last}",
        note=stretch.note,
        before=note.text[: stretch.first],
        text=note.text[stretch.first : stretch.last],
        after=note.text[stretch.last :],
        has_sound=note.recording is not None,
    )
