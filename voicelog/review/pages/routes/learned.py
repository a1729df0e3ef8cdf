"""What corrections have taught: words that are heard for others."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Path, Request
from fastapi.responses import Response
from pydantic import StringConstraints

from voicelog.domain.lesson import Example, Lesson
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import FIELDS
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.routes.counter import BackForm, Counter, FieldName

Few = Annotated[str, StringConstraints(max_length=200)]
"""A few words."""

LessonNumber = Annotated[int, Path(ge=1, le=2**53)]


class LessonForm(BackForm):
    """What is heard, what is meant by it, and in which note it was heard."""

    heard: Few
    meant: Few
    field: FieldName
    note: int = 0
    text: Annotated[str, StringConstraints(max_length=20_000)] = ""

    def as_lesson(self) -> Lesson:
        """Return the lesson that the form describes."""
        examples = (Example(note=self.note, text=self.text),) if self.note else ()
        return Lesson(heard=self.heard, meant=self.meant, field=self.field, examples=examples)


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the page of what was learnt."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.get("/learned")
    def learned(request: Request) -> Response:
        """List what was learnt."""
        with desk.reading() as log:
            lessons = [one for one in log.iter_lessons() if one.until_note is None]
        return pages.fill(
            "learned.html",
            frame=make_frame(request),
            lessons=lessons,
            fields=[field for field in FIELDS if field.is_term],
        )

    @router.post("/learned")
    def learn(request: Request, form: Annotated[LessonForm, Form()]) -> Response:
        """Learn a word."""
        return counter.take(
            request,
            form,
            lambda one: one.learning.learn(form.as_lesson()),
            told=f"Learnt: “{form.heard}” is understood as “{form.meant}” from the next note on.",
        )

    @router.post("/learned/{number}/forget")
    def forget(
        request: Request, number: LessonNumber, form: Annotated[BackForm, Form()]
    ) -> Response:
        """Take back what was learnt."""
        return counter.take(
            request, form, lambda one: one.learning.forget(number), told="Taken off the list."
        )

    return router
