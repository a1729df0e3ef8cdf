"""One correction for all rows that carry the same wrong value, shown before it is done."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from pydantic import Field

from voicelog.errors import ValueRefused
from voicelog.review.alike import CARRIED, Alike
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import find_field, format_value
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame, session_of
from voicelog.review.pages.routes.counter import (
    BackForm,
    Counter,
    FieldName,
    RowSeen,
    Typed,
    parse_seen,
)
from voicelog.review.pages.routes.editing import EntryId, address_of, find_stored
from voicelog.review.pages.rows import name_row


class AlikeForm(BackForm):
    """The right value, and the rows that were shown, each as "id@version"."""

    field: FieldName
    typed: Typed
    rows: Annotated[list[RowSeen], Field(min_length=1, max_length=20_000)]


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the preview, and the address that it is sent to."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.get("/entries/{id_}/alike")
    def preview(
        request: Request,
        id_: EntryId,
        field: Annotated[str, Query(max_length=50)] = "",
        typed: Annotated[str, Query(max_length=500)] = "",
    ) -> Response:
        """Show which rows carry the same value, before any is changed."""
        stored = find_stored(desk, id_)
        alike: Alike | None = None
        refused = ""
        if field and typed:
            reviewer = desk.reviewer(session_of(request))
            try:
                alike = reviewer.preview_alike(id_, field, typed)
            except ValueRefused as refusal:
                refused = str(refusal)
        carried = [each for name in CARRIED if (each := find_field(name))]
        return pages.fill(
            "alike.html",
            frame=make_frame(request),
            stored=stored,
            list_address=address_of(id_),
            choices=[(each, desk.show(stored.entry, each.name)) for each in carried],
            field=field,
            typed=typed,
            refused=refused,
            alike=alike,
            now=format_value(field, alike.now) if alike else "",
            names={
                one.entry.id: name_row(one.entry, desk.spell)
                for one in (alike.entries if alike else ())
            },
        )

    @router.post("/entries/{id_}/alike")
    def change(request: Request, id_: EntryId, form: Annotated[AlikeForm, Form()]) -> Response:
        """Change all the rows that were shown."""
        only = [parse_seen(row) for row in form.rows]
        told = f"{len(only)} {'row' if len(only) == 1 else 'rows'} changed."
        return counter.take(
            request,
            form,
            lambda one: one.set_alike(one.preview_alike(id_, form.field, form.typed), only=only),
            told=told,
        )

    return router
