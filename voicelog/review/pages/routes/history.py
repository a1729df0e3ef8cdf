"""What was changed, by whom and when: of one row, or of the whole log."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import label_of
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.routes.counter import format_plain
from voicelog.review.pages.rows import name_row
from voicelog.review.pages.wanted import Wanted, Word
from voicelog.store.reviewed_log import HistoryLine
from voicelog.store.worklist import WorkListLog

_LINES_ON_A_PAGE = 200
_UNTOLD = frozenset({"confidence", "doubts", "notes"})
"""Follow from what else is told; a history of them would hide it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One value before and after."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What one act, note or reading changed in one entry.

    Attributes:
        at, by, reason: when, who and why.
        name: what the entry is called now.
        address: where it stands on the work list.
        values: the values that changed.
    """

    at: str
    by: str
    reason: str
    name: str
    address: str
    values: tuple[Told, ...]


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the pages of history."""
    router = APIRouter()

    @router.get("/history")
    def history(
        request: Request,
        entry: Annotated[Word | None, Query()] = None,
        page: Annotated[int, Query(ge=1, le=100_000)] = 1,
    ) -> Response:
        """Show every change, the latest first."""
        first = (page - 1) * _LINES_ON_A_PAGE
        with desk.reading() as log:
            lines = list(islice(log.iter_history(entry=entry), first, first + _LINES_ON_A_PAGE + 1))
            events = _make_events(desk, log, lines[:_LINES_ON_A_PAGE])
            signatures = tuple(log.iter_signatures())
        return pages.fill(
            "history.html",
            frame=make_frame(request),
            events=events,
            entry=entry,
            page=page,
            has_more=len(lines) > _LINES_ON_A_PAGE,
            signatures=signatures if entry is None else (),
        )

    return router


def _make_events(
    desk: ReviewDesk, log: WorkListLog, lines: Sequence[HistoryLine]
) -> tuple[Event, ...]:
    stored = log.read_entries(list({line.entry for line in lines}))
    names = {one.entry.id: f"{one.number}, {name_row(one.entry, desk.spell)}" for one in stored}
    events: list[Event] = []
    for (entry, at, by, reason), group in groupby(
        lines, key=lambda line: (line.entry, line.at, line.by, line.reason)
    ):
        values = tuple(
            Told(
                label=label_of(line.field),
                before=format_plain(line.field, line.before),
                after=format_plain(line.field, line.after),
            )
            for line in group
            if line.field not in _UNTOLD
        )
        if values:
            events.append(
                Event(
                    at=at[:16].replace("T", " "),
                    by=by,
                    reason=reason,
                    name=names.get(entry, entry),
                    address=Wanted().address(entry=entry, anchor=f"entry-{entry}"),
                    values=values,
                )
            )
    return tuple(events)
