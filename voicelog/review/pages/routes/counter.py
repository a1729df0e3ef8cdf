"""Where forms are handed in: the act is done, and the page that it came from answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from voicelog.domain.act import Seen
from voicelog.errors import EntryChanged
from voicelog.review.acting import Done
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import format_value, label_of
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame, session_of
from voicelog.review.pages.wanted import safe_back
from voicelog.review.reviewer import Reviewer

SEE_OTHER = 303
_CONFLICT = 409

Address = Annotated[str, StringConstraints(max_length=2000)]
Version = Annotated[int, Field(ge=0, le=2**53)]
RowSeen = Annotated[str, StringConstraints(max_length=140, pattern=r"^[^@\s]{1,100}@\d{1,15}$")]
FieldName = Annotated[str, StringConstraints(max_length=50)]
Typed = Annotated[str, StringConstraints(max_length=20_000)]


class BackForm(BaseModel):
    """The door where a form comes in: where to go on afterwards."""

    model_config = ConfigDict(extra="ignore")

    back: Address = "/work"


class RowForm(BackForm):
    """An act on one row."""

    seen: Version


class ValueForm(RowForm):
    """A new value for one field."""

    field: FieldName
    typed: Typed = ""


class Counter:
    """Has acts done and answers.

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
            ReviewError: it can't be done; but what somebody else changed meanwhile is
                answered with both values.
            StoreError: the log can't be written.
        """
        session = session_of(request)
        reviewer = self._desk.reviewer(session)
        try:
            done = act(reviewer)
        except EntryChanged as changed:
            return self._show_both(request, changed, form)
        session.message = " ".join((told, *done.remarks))
        session.offers = done.offers
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
                    "present": format_plain(name, changed.present.get(name)),
                    "wanted": format_plain(name, wanted),
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
    return RedirectResponse(safe_back(form.back), status_code=SEE_OTHER)


def seen_by(id_: str, form: RowForm) -> Seen:
    """Return the version of an entry that a form was filled in with."""
    return Seen(entry=id_, version=form.seen)


def parse_seen(row: str) -> Seen:
    """Return what "id@version" says was seen."""
    id_, _, version = row.rpartition("@")
    return Seen(entry=id_, version=int(version))


def format_plain(name: str, plain: Any) -> str:
    """Return a value as the history holds it, in one line."""
    return format_value(name, tuple(plain) if isinstance(plain, list) else plain)
