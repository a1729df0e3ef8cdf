"""Changing one value: the form, the terms to choose from, the verdict while typing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from voicelog.domain.entry import Entry, Status
from voicelog.domain.place import Place, describe_place
from voicelog.errors import ReviewError, ValueRefused
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import (
    FIELDS,
    PLACE_FIELDS,
    Field,
    find_field,
    is_worth_showing,
)
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.wanted import Wanted
from voicelog.review.pages.work_view import make_rows
from voicelog.store.entry_log import StoredEntry
from voicelog.vocabulary import TermField

_NOT_FOUND = 404

EntryId = Annotated[str, Path(max_length=100)]
FieldName = Annotated[str, Path(max_length=50)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a typed text comes to."""

    is_good: bool
    message: str


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return what is needed to change a value."""
    router = APIRouter()

    @router.get("/entries/{id_}/fields")
    def choose_field(request: Request, id_: EntryId) -> Response:
        """Let the reviewer choose a field that has no value yet."""
        stored = find_stored(desk, id_)
        require_open(stored.entry)
        fields = [
            field
            for field in FIELDS
            if stored.entry.kind in field.kinds
            and field.name not in PLACE_FIELDS
            and not is_worth_showing(stored.entry, field.name)
        ]
        return pages.fill(
            "choose_field.html",
            frame=make_frame(request),
            stored=stored,
            fields=fields,
            list_address=address_of(id_),
        )

    @router.get("/entries/{id_}/fields/{name}")
    def edit(request: Request, id_: EntryId, name: FieldName) -> Response:
        """Show the form for one value."""
        field = find_field(name)
        stored = find_stored(desk, id_)
        if field is None or stored.entry.kind not in field.kinds:
            raise HTTPException(_NOT_FOUND)
        if stored.entry.status is Status.CONFIRMED:
            return pages.fill(
                "locked.html",
                frame=make_frame(request),
                stored=stored,
                list_address=address_of(id_),
            )
        require_open(stored.entry)
        with desk.reading() as log:
            row = make_rows(desk, log, [id_])[id_]
        return pages.fill(
            "edit.html",
            frame=make_frame(request),
            row=row,
            field=field,
            typed=_as_typed(desk, stored, field),
            doubts=[doubt.message for doubt in stored.entry.doubts if doubt.field == name],
            has_terms=name in set(TermField),
            list_address=address_of(id_),
        )

    @router.get("/entries/{id_}/fields/{name}/readings")
    def readings(request: Request, id_: EntryId, name: FieldName) -> Response:
        """Offer what else may have been said."""
        field = find_field(name)
        stored = find_stored(desk, id_)
        if field is None or stored.entry.kind not in field.kinds:
            raise HTTPException(_NOT_FOUND)
        with desk.reading() as log:
            notes = log.read_notes(stored.entry.notes)
        return pages.fill(
            "readings.html",
            frame=make_frame(request),
            stored=stored,
            field=field,
            offers=desk.find_readings(stored.entry, name, notes),
            list_address=address_of(id_),
        )

    @router.get("/terms/{name}")
    def terms(name: FieldName) -> list[dict[str, Any]]:
        """Give the terms of a field, for choosing while typing."""
        return [
            {"term": one.term, "said": one.said, "definition": one.definition}
            for one in desk.suggest(name)
        ]

    @router.get("/check")
    def check(
        field: Annotated[str, Query(max_length=50)],
        typed: Annotated[str, Query(max_length=20_000)],
    ) -> Response:
        """Say what a text would come to if it were saved now."""
        verdict = judge(desk, field, typed)
        return JSONResponse({"is_good": verdict.is_good, "message": verdict.message})

    return router


def find_stored(desk: ReviewDesk, id_: str) -> StoredEntry:
    """Return an entry as it is now.

    Raises:
        HTTPException: there is none (status 404).
    """
    with desk.reading() as log:
        found = log.find_entry(id_)
    if found is None:
        raise HTTPException(_NOT_FOUND)
    return found


def require_open(entry: Entry) -> None:
    """Make sure that an entry can be edited.

    Raises:
        ReviewError: it is void.
    """
    if entry.status is Status.VOID:
        raise ReviewError("This entry is void; bring it back before changing it.")


def address_of(id_: str) -> str:
    """Return the address of the work list at an entry."""
    return Wanted().address(entry=id_, anchor=f"entry-{id_}")


def judge(desk: ReviewDesk, name: str, typed: str) -> Verdict:
    """Return what a typed text comes to, by the rules that the notes are read with."""
    try:
        understood = desk.check_typed(name, typed)
    except ValueRefused as refused:
        near = f" Near to it: {', '.join(refused.suggestions)}." if refused.suggestions else ""
        return Verdict(is_good=False, message=f"{refused}{near}")
    except ReviewError as refused:
        return Verdict(is_good=False, message=str(refused))
    shown = desk.format(name, understood.value)
    stored = f"will be stored as {shown}" if shown else "will be empty"
    return Verdict(is_good=True, message=" ".join((stored, *understood.doubts)))


def _as_typed(desk: ReviewDesk, stored: StoredEntry, field: Field) -> str:
    entry = stored.entry
    if field.name == "leaf" and entry.leaf is not None:
        return describe_place(Place(leaf=entry.leaf, side=entry.side)).removeprefix("leaf ")
    return desk.show(stored.entry, field.name)
