"""What surrounds every page: where one can go, who reviews, what was just done."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request

from voicelog.domain.lesson import Lesson
from voicelog.review.pages.gate import Session

_TABS = (
    ("/work", "Work list"),
    ("/history", "History"),
    ("/sample", "Error rate"),
    ("/learned", "Sounds like"),
    ("/redactions", "Redaction"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tab:
    """One page that can be gone to."""

    label: str
    address: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What the templates put around a page.

    Attributes:
        tabs: the pages.
        reviewer: who reviews; empty until said.
        back: the address of this page, to come back to after an act.
        message: what was just done or refused; empty for nothing.
        is_refused: whether it was refused.
        offers: what the last correction could teach.
    """

    tabs: tuple[Tab, ...]
    reviewer: str
    back: str
    message: str = ""
    is_refused: bool = False
    offers: tuple[Lesson, ...] = ()


def session_of(request: Request) -> Session:
    """Return the session that the gate found; it lets nothing in without one."""
    session: Session = request.state.session
    return session


def make_frame(request: Request, *, message: str = "", is_refused: bool = False) -> Frame:
    """Return the frame of the page that is asked for; a waiting message is told once."""
    session = session_of(request)
    told = message or session.take_message()
    query = request.url.query
    return Frame(
        tabs=tuple(
            Tab(label=label, address=address, is_here=request.url.path == address)
            for address, label in _TABS
        ),
        reviewer=session.reviewer,
        back=f"{request.url.path}{'?' if query else ''}{query}",
        message=told,
        is_refused=is_refused,
        offers=session.take_offers(),
    )
