"""Reading the log: the work list, one row, the keys."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.keys import KEY_GROUPS
from voicelog.review.pages.wanted import Wanted
from voicelog.review.pages.work_view import make_work_view


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the pages that only read."""
    router = APIRouter()

    @router.get("/work")
    def work(request: Request, wanted: Annotated[Wanted, Query()]) -> Response:
        """Show the work list."""
        with desk.reading() as log:
            view = make_work_view(desk, log, wanted)
        return pages.fill("work.html", frame=make_frame(request), **view)

    @router.get("/keys")
    def keys(request: Request) -> Response:
        """Show the keys."""
        return pages.fill("keys.html", frame=make_frame(request), groups=KEY_GROUPS)

    return router
