"""The blind sample and what it has shown."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import Field

from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.routes.counter import BackForm, Counter
from voicelog.review.pages.wanted import Wanted
from voicelog.store.selection import Order


class DrawForm(BackForm):
    """How much to draw."""

    percent: Annotated[float, Field(gt=0, le=100)]


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the page of the error rate."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.get("/sample")
    def sample(request: Request) -> Response:
        """Show this team's error rate with its interval."""
        with desk.reading() as log:
            rate = log.error_rate()
        low, high = rate.interval
        return pages.fill(
            "sample.html",
            frame=make_frame(request),
            rate=rate,
            low=low,
            high=high,
            percent=desk.sample_percent,
            begin=Wanted(order=Order.DOUBTFUL_FIRST).address(),
        )

    @router.post("/sample/draw")
    def draw(request: Request, form: Annotated[DrawForm, Form()]) -> Response:
        """Draw a sample of undoubted entries."""
        return counter.take(
            request,
            form,
            lambda one: one.sampling.draw(percent=form.percent),
            told="A sample is drawn. Its rows wait among the doubtful ones.",
        )

    return router
