"""Acts of review: every one a small form, answered with the page that it came from."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from voicelog.domain.act import Seen
from voicelog.errors import EntryChanged
from voicelog.review.acting import Done
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import format_value, label_of
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame, session_of
from voicelog.review.pages.routes.editing import EntryId
from voicelog.review.pages.wanted import safe_back
from voicelog.review.reviewer import Reviewer

_SEE_OTHER = 303
_CONFLICT = 409

Address = Annotated[str, StringConstraints(max_length=2000)]
Version = Annotated[int, Field(ge=0, le=2**53)]
RowSeen = Annotated[str, StringConstraints(max_length=140, pattern=r"^[^@\s]{1,100}@\d{1,15}$")]


class BackForm(BaseModel):
    """The door where a form comes in: where to go on afterwards."""

    model_config = ConfigDict(extra="ignore")

    back: Address = "/work"


class RowForm(BackForm):
    """An act on one row."""

    seen: Version


class ValueForm(RowForm):
    """A new value for one field."""

    field: Annotated[str, StringConstraints(max_length=50)]
    typed: Annotated[str, StringConstraints(max_length=20_000)] = ""


class RowsForm(BackForm):
    """An act on several rows, each as "id@version"."""

    rows: Annotated[list[RowSeen], Field(min_length=1, max_length=1000)]


class ReviewerForm(BackForm):
    """Who reviews."""

    reviewer: Annotated[str, StringConstraints(max_length=80, strip_whitespace=True)]


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the acts on single rows, on the rows of a leaf, and taking back."""
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
            lambda reviewer: reviewer.set_value(_seen(id_, form), form.field, form.typed),
            told=f"{label_of(form.field).capitalize()} changed.",
        )

    @router.post("/entries/{id_}/confirm")
    def confirm(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Confirm one row."""
        return counter.take(
            request, form, lambda one: one.confirm([_seen(id_, form)]), told="Confirmed."
        )

    @router.post("/confirm")
    def confirm_rows(request: Request, form: Annotated[RowsForm, Form()]) -> Response:
        """Confirm several rows together."""
        rows = [_parse_seen(row) for row in form.rows]
        told = f"{len(rows)} {'row' if len(rows) == 1 else 'rows'} confirmed."
        return counter.take(request, form, lambda one: one.confirm(rows), told=told)

    @router.post("/entries/{id_}/reopen")
    def reopen(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Open a confirmed row again."""
        return counter.take(
            request, form, lambda one: one.reopen(_seen(id_, form)), told="Open again."
        )

    @router.post("/entries/{id_}/void")
    def void(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Declare a row void."""
        return counter.take(
            request,
            form,
            lambda one: one.void(_seen(id_, form)),
            told="Void. It is kept; choose “void” above to see it.",
        )

    @router.post("/entries/{id_}/restore")
    def restore(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Bring a void row back."""
        return counter.take(
            request, form, lambda one: one.restore(_seen(id_, form)), told="Brought back."
        )

    @router.post("/undo")
    def undo(request: Request, form: Annotated[BackForm, Form()]) -> Response:
        """Take back the last act of this session."""
        return counter.take(
            request, form, lambda one: one.undo(), told="The last change is undone."
        )

    return router


class Counter:
    """Where forms are handed in: has the act done and answers with the page it came from.

    Args:
        desk: the log and what belongs to it.
        pages: the templates.
    """

    def __init__(self, desk: ReviewDesk, pages: Pages) -> None:
        self._desk = desk
        self._pages = pages

    def take(
        self,
        request: Request,
        form: BackForm,
        act: Callable[[Reviewer], Done],
        *,
        told: str,
    ) -> Response:
        """Have an act done.

        Args:
            request: the request that brought the form.
            form: the form.
            act: does it; is given the reviewer of the session.
            told: what the page says when it is done.

        Raises:
            ReviewError: it can't be done, but for what somebody else changed meanwhile: that
                is answered with both values.
            StoreError: the log can't be written.
        """
        session = session_of(request)
        reviewer = self._desk.reviewer(session)
        try:
            done = act(reviewer)
        except EntryChanged as changed:
            return self._show_both(request, changed, form)
        session.message = " ".join((told, *done.remarks))
        return go_back(form)

    def _show_both(self, request: Request, changed: EntryChanged, form: BackForm) -> Response:
        value = form if isinstance(form, ValueForm) else None
        return self._pages.fill(
            "conflict.html",
            status=_CONFLICT,
            frame=make_frame(request, message=str(changed), is_refused=True),
            message=str(changed),
            rows=[
                {
                    "label": label_of(name),
                    "present": _format(name, changed.present.get(name)),
                    "wanted": _format(name, wanted),
                }
                for name, wanted in changed.wanted.items()
            ],
            id=changed.entry,
            version=changed.version,
            field=value.field if value else "",
            typed=value.typed if value else None,
            back=form.back,
        )


def go_back(form: BackForm) -> Response:
    """Lead back to the page that a form came from."""
    return RedirectResponse(safe_back(form.back), status_code=_SEE_OTHER)


def _seen(id_: str, form: RowForm) -> Seen:
    return Seen(entry=id_, version=form.seen)


def _parse_seen(row: str) -> Seen:
    id_, _, version = row.rpartition("@")
    return Seen(entry=id_, version=int(version))


def _format(name: str, plain: Any) -> str:
    return format_value(name, tuple(plain) if isinstance(plain, list) else plain)
