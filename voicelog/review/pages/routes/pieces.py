"""Acts that change which rows there are: split, join, order, add, and one fix for many rows."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from pydantic import Field

from voicelog.errors import ReviewError, ValueRefused
from voicelog.review.alike import CARRIED
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import find_field, format_value
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame, session_of
from voicelog.review.pages.routes.counter import (
    BackForm,
    Counter,
    RowForm,
    RowSeen,
    Typed,
    parse_seen,
    seen_by,
)
from voicelog.review.pages.routes.editing import EntryId, address_of, find_stored
from voicelog.review.pages.rows import name_row

SPLIT_FIELDS = (
    "item_type", "quantity", "attachment", "adhesion", "condition", "action", "enclosure",
    "caption", "date",
)  # fmt: skip
"""What a second row can be given when one is split; the rest is typed into it afterwards."""


class SplitForm(RowForm):
    """What belongs to the second of two rows; what is left empty it doesn't get."""

    item_type: Typed = ""
    quantity: Typed = ""
    attachment: Typed = ""
    adhesion: Typed = ""
    condition: Typed = ""
    action: Typed = ""
    enclosure: Typed = ""
    caption: Typed = ""
    date: Typed = ""


class JoinForm(RowForm):
    """The row that another one is joined to, as "id@version"."""

    into: RowSeen


class AddForm(BackForm):
    """What a handler would have said."""

    typed: Typed


class AlikeForm(BackForm):
    """One correction for many rows, and the rows that were shown, each as "id@version"."""

    field: Annotated[str, Field(max_length=50)]
    typed: Typed
    rows: Annotated[list[RowSeen], Field(min_length=1, max_length=20_000)]


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the forms about pieces, and the addresses that they are sent to."""
    router = APIRouter()
    counter = Counter(desk, pages)

    @router.get("/entries/{id_}/split")
    def ask_how_to_split(request: Request, id_: EntryId) -> Response:
        """Ask what belongs to the second row."""
        stored = find_stored(desk, id_)
        fields = [field for name in SPLIT_FIELDS if (field := find_field(name))]
        return pages.fill(
            "split.html",
            frame=make_frame(request),
            stored=stored,
            name=name_row(stored.entry, desk.spell),
            fields=[
                (field, format_value(field.name, getattr(stored.entry, field.name), spell=desk.spell))
                for field in fields
            ],
            list_address=address_of(id_),
        )

    @router.post("/entries/{id_}/split")
    def split(request: Request, id_: EntryId, form: Annotated[SplitForm, Form()]) -> Response:
        """Make two rows of one."""
        taken = {name: typed for name in SPLIT_FIELDS if (typed := getattr(form, name).strip())}
        if not taken:
            raise ReviewError("Say what belongs to the second row: at least one field.")
        return counter.take(
            request, form, lambda one: one.split(seen_by(id_, form), taken), told="Two rows now."
        )

    @router.post("/entries/{id_}/join")
    def join(request: Request, id_: EntryId, form: Annotated[JoinForm, Form()]) -> Response:
        """Make one row of two."""
        into = parse_seen(form.into)
        return counter.take(
            request,
            form,
            lambda one: one.merge(into, seen_by(id_, form)),
            told="One row now; the second is void. Undo brings it back.",
        )

    @router.post("/entries/{id_}/up")
    def up(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Move an item up on its side."""
        return _renumber(request, id_, form, by=-1)

    @router.post("/entries/{id_}/down")
    def down(request: Request, id_: EntryId, form: Annotated[RowForm, Form()]) -> Response:
        """Move an item down on its side."""
        return _renumber(request, id_, form, by=1)

    def _renumber(request: Request, id_: str, form: RowForm, *, by: int) -> Response:
        number = (find_stored(desk, id_).entry.item or 0) + by
        if number < 1:
            raise ReviewError("This is the first item on its side already.")
        return counter.take(
            request,
            form,
            lambda one: one.set_value(seen_by(id_, form), "item", str(number)),
            told="Moved. What is written on an object stays as it is.",
        )

    @router.get("/entries/{id_}/add")
    def ask_what_to_add(request: Request, id_: EntryId) -> Response:
        """Ask for the words of an entry that nobody said."""
        stored = find_stored(desk, id_)
        return pages.fill(
            "add.html", frame=make_frame(request), stored=stored, list_address=address_of(id_)
        )

    @router.post("/entries/{id_}/add")
    def add(request: Request, id_: EntryId, form: Annotated[AddForm, Form()]) -> Response:
        """Add an entry by typing."""
        return counter.take(
            request, form, lambda one: one.add(form.typed, beside=id_), told="Added."
        )

    @router.get("/entries/{id_}/alike")
    def preview_alike(
        request: Request,
        id_: EntryId,
        field: Annotated[str, Query(max_length=50)] = "",
        typed: Annotated[str, Query(max_length=500)] = "",
    ) -> Response:
        """Show which rows carry the same value, before any is changed."""
        stored = find_stored(desk, id_)
        carried = [each for name in CARRIED if (each := find_field(name))]
        values = {"frame": make_frame(request), "stored": stored, "list_address": address_of(id_)}
        choices = [
            (each, format_value(each.name, getattr(stored.entry, each.name), spell=desk.spell))
            for each in carried
        ]
        if not (field and typed):
            return pages.fill(
                "alike.html", alike=None, refused="", field=field, typed=typed, choices=choices,
                **values,
            )  # fmt: skip
        reviewer = desk.reviewer(session_of(request))
        try:
            alike = reviewer.preview_alike(id_, field, typed)
        except ValueRefused as refusal:
            return pages.fill(
                "alike.html", alike=None, refused=str(refusal), field=field, typed=typed,
                choices=choices, **values,
            )  # fmt: skip
        return pages.fill(
            "alike.html",
            alike=alike,
            now=format_value(field, alike.now),
            names={one.entry.id: name_row(one.entry, desk.spell) for one in alike.entries},
            field=field,
            typed=typed,
            choices=choices,
            refused="",
            **values,
        )

    @router.post("/entries/{id_}/alike")
    def set_alike(request: Request, id_: EntryId, form: Annotated[AlikeForm, Form()]) -> Response:
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
