"""Acts on a whole volume: confirm what is undoubted, sign off, unlock."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.routes.counter import BackForm, Counter, Typed
from voicelog.review.pages.wanted import Wanted, Word


class VolumeForm(BackForm):
    """A volume; what is empty was never said."""

    accession: Word = ""
    volume: Word = ""


class UnlockForm(VolumeForm):
    """Why a volume has to be opened again."""

    why: Typed = ""


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the addresses of acts on volumes."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.post("/volumes/confirm")
    def confirm(request: Request, form: Annotated[VolumeForm, Form()]) -> Response:
        """Confirm everything in a volume that nothing is doubted of."""
        return counter.take(
            request,
            form,
            lambda one: one.confirm_undoubted(form.accession or None, form.volume or None),
            told="All undoubted rows of the volume are confirmed.",
        )

    @router.post("/volumes/sign-off")
    def sign_off(request: Request, form: Annotated[VolumeForm, Form()]) -> Response:
        """Sign a volume off."""
        return counter.take(
            request,
            form,
            lambda one: one.sign_off(form.accession or None, form.volume or None),
            told="Signed off. The volume is locked until somebody unlocks it.",
        )

    @router.get("/volumes/unlock")
    def ask_why(request: Request, wanted: Annotated[Wanted, Query()]) -> Response:
        """Ask why a signed volume has to be opened again."""
        return pages.fill("unlock.html", frame=make_frame(request), wanted=wanted)

    @router.post("/volumes/unlock")
    def unlock(request: Request, form: Annotated[UnlockForm, Form()]) -> Response:
        """Open a signed volume again."""
        return counter.take(
            request,
            form,
            lambda one: one.unlock(form.accession or None, form.volume or None, why=form.why),
            told="Unlocked. The reason is kept in the history.",
        )

    return router
