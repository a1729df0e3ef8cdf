"""Acts that change which rows there are: split, join, order, add."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from voicelog.errors import ReviewError
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import find_field
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
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
            fields=[(field, desk.show(stored.entry, field.name)) for field in fields],
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

    return router
