"""Acts on single rows, on the rows of a leaf, and taking back."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import Field, StringConstraints

from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import label_of
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import session_of
from voicelog.review.pages.routes.counter import (
    BackForm,
    Counter,
    RowForm,
    RowSeen,
    ValueForm,
    go_back,
    parse_seen,
    seen_by,
)
from voicelog.review.pages.routes.editing import EntryId


class RowsForm(BackForm):
    """An act on several rows, each as "id@version"."""

    rows: Annotated[list[RowSeen], Field(min_length=1, max_length=1000)]


class ReviewerForm(BackForm):
    """Who reviews."""

    reviewer: Annotated[str, StringConstraints(max_length=80, strip_whitespace=True)]


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the addresses that forms about rows are sent to."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.post("/reviewer")
    def name_reviewer(request: Request, form: Annotated[ReviewerForm, Form()]) -> Response:
        """Say who reviews from now on."""
        session = session_of(request)
        session.reviewer = "".join(each for each in form.reviewer if each.isprintable())
        session.message = (
            f"Changes are kept under the name {session.reviewer}." if session.reviewer else ""
        )
        return go_back(form)

    @router.post("/entries/{id_}/set")
    def set_value(request: Request, id_: EntryId, form: Annotated[ValueForm, Form()]) -> Response:
        """Give a field the value that was typed."""
        return counter.take(
            request,
            form,
            lambda one: one.set_value(seen_by(id_, form), form.field, form.typed),
            told=f"{label_of(form.field).capitalize()} changed.",
        )

    @router.post("/entries/{id_}/confirm")
    def confirm(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Confirm one row."""
        return counter.take(
            request, form, lambda one: one.confirm([seen_by(id_, form)]), told="Confirmed."
        )

    @router.post("/confirm")
    def confirm_rows(request: Request, form: Annotated[RowsForm, Form()]) -> Response:
        """Confirm several rows together."""
        rows = [parse_seen(row) for row in form.rows]
        told = f"{len(rows)} {'row' if len(rows) == 1 else 'rows'} confirmed."
        return counter.take(request, form, lambda one: one.confirm(rows), told=told)

    @router.post("/entries/{id_}/reopen")
    def reopen(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Open a confirmed row again."""
        return counter.take(
            request, form, lambda one: one.reopen(seen_by(id_, form)), told="Open again."
        )

    @router.post("/entries/{id_}/void")
    def void(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Declare a row void."""
        return counter.take(
            request,
            form,
            lambda one: one.void(seen_by(id_, form)),
            told="Void. It is kept; choose “void” above to see it.",
        )

    @router.post("/entries/{id_}/restore")
    def restore(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Bring a void row back."""
        return counter.take(
            request, form, lambda one: one.restore(seen_by(id_, form)), told="Brought back."
        )

    @router.post("/undo")
    def undo(request: Request, form: Annotated[BackForm, Form()]) -> Response:
        """Take back the last act of this session."""
        return counter.take(
            request, form, lambda one: one.undo(), told="Your last change is undone."
        )

    return router
