"""The application: every address, and what is answered when something goes wrong."""

from __future__ import annotations

import hashlib
import logging
from importlib import resources
from pathlib import Path
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from voicelog.errors import (
    SoundElsewhere,
    SoundRemoved,
    StoreError,
    UnusableInput,
    UsageError,
    VoicelogError,
)
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.doors import ENTRANCE, STATIC, Door
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.gate import Gate, Refusal
from voicelog.review.pages.routes import (
    acts,
    alike,
    editing,
    history,
    learned,
    lists,
    pieces,
    redactions,
    sample,
    sound,
    volumes,
)
from voicelog.review.pages.wanted import WORK

logger = logging.getLogger(__name__)

_SEE_OTHER = 303


def make_app(desk: ReviewDesk, gate: Gate) -> FastAPI:
    """Return the application that serves a log's pages behind a gate.

    Args:
        desk: the log and what belongs to it.
        gate: whom to let in.
    """
    static = Path(str(resources.files("voicelog.review.pages") / "static"))
    assets = f"{STATIC}{fingerprint(static)}"
    pages = Pages(assets=assets)
    # No page of the framework's own: its documentation would load scripts from elsewhere.
    app = FastAPI(title="voicelog review", docs_url=None, redoc_url=None, openapi_url=None)
    app.mount(assets, StaticFiles(directory=static), name="static")
    _add_entrance(app, gate, pages)
    for routes in (
        lists,
        sound,
        editing,
        acts,
        pieces,
        alike,
        volumes,
        history,
        sample,
        learned,
        redactions,
    ):
        app.include_router(routes.make_router(desk, pages))
    _explain_failures(app, pages)
    app.add_middleware(Door, gate=gate, pages=pages)
    return app


def fingerprint(folder: Path) -> str:
    """Return what stands for the contents of a folder: other contents, another fingerprint.

    It is part of the addresses of style and scripts, so that a browser may keep them for as
    long as they are the same and never longer.
    """
    digest = hashlib.sha256()
    for file in sorted(folder.iterdir()):
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def _add_entrance(app: FastAPI, gate: Gate, pages: Pages) -> None:
    @app.get(ENTRANCE)
    def enter(token: Annotated[str, Query(max_length=200)] = "") -> Response:
        """Exchange the token of the address for the session's cookie."""
        session = gate.enter(token)
        if session is None:
            return pages.refusal(Refusal.USED)
        answer = RedirectResponse(WORK, status_code=_SEE_OTHER)
        answer.set_cookie(
            gate.cookie, session.id, httponly=True, samesite="strict", path="/", secure=False
        )
        return answer

    @app.get("/")
    def begin() -> Response:
        """Lead to the work list."""
        return RedirectResponse(WORK, status_code=_SEE_OTHER)


def _explain_failures(app: FastAPI, pages: Pages) -> None:
    @app.exception_handler(VoicelogError)
    def explain(_request: Request, failure: VoicelogError) -> Response:
        match failure:
            case UnusableInput() | SoundElsewhere():
                status = 404
            case SoundRemoved():
                status = 410
            case StoreError() | UsageError():
                # The log is held by another program, damaged, or gone: it may come back.
                status = 503
            case _:
                status = 409
        return pages.sentence("That didn't work", str(failure), status=status)

    @app.exception_handler(RequestValidationError)
    def explain_form(_request: Request, failure: RequestValidationError) -> Response:
        first = failure.errors()[0]
        name = str(first["loc"][-1]) if first["loc"] else "the address"
        return pages.sentence(
            "That can't be read",
            f"{name}: {first['msg'][:1].lower()}{first['msg'][1:]}. Nothing was changed.",
            status=422,
        )

    @app.exception_handler(HTTPException)
    def explain_status(_request: Request, failure: HTTPException) -> Response:
        message = {
            404: "There is no such page here.",
            405: "That page can't be used in this way.",
        }.get(failure.status_code, str(failure.detail))
        answer = pages.sentence("Not here", message, status=failure.status_code)
        answer.headers.update(failure.headers or {})
        return answer

    @app.exception_handler(Exception)
    def explain_fault(_request: Request, failure: Exception) -> Response:
        logger.error("A fault in the review pages: %s", type(failure).__name__)
        return pages.sentence(
            "A fault",
            f"A fault in voicelog stopped this ({type(failure).__name__}). What was saved before "
            "is safe. Load the page again; if it comes back, please report it.",
            status=500,
        )
