"""The gate before the pages: only the browser that was let in, only from its own pages.

What a dictated log holds is nobody else's business, and any page on the web can make a
browser send requests to this machine. So the gate asks of every request that it was sent
to this very address (``Host``; against names that are rebound to 127.0.0.1), that it comes
from our own pages (``Origin`` and ``Sec-Fetch-Site``; against requests forged by other
sites), and that it carries the session's cookie (against other users of the machine, who
can reach the address as well).

The cookie is given once, for a token that only who reads the terminal knows. It is
``SameSite=Strict`` and ``HttpOnly`` (RFC 6265bis, sections 4.1.2.6 and 4.1.2.7) and named
after the port, because browsers share cookies between the ports of a machine.
"""

from __future__ import annotations

import hmac
import secrets
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from voicelog.domain.lesson import Lesson

TOKEN_LIFE_S = 600.0
"""How long the address printed in the terminal can be used."""
SESSION_LIFE_S = 12 * 3600.0
"""How long a session lasts after its last request: a working day."""

_OWN_SITE = frozenset({"same-origin", "none"})
_READING = frozenset({"GET", "HEAD"})


class Refusal(StrEnum):
    """Why a request is not let through, as the page that says so puts it."""

    HOST = "It was addressed to another name than this machine's own."
    ORIGIN = "It was sent by another page than voicelog's own."
    USED = (
        "The address was used before, or is too old. Close 'voicelog review' with Ctrl-C and "
        "start it again: it opens a fresh one."
    )
    SESSION = (
        "This browser was not let in, or its session is over. Use the address that 'voicelog "
        "review' printed, or start the command again."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Knock:
    """What the gate looks at of a request.

    Attributes:
        method: "GET", "POST", ...
        host, origin, site: the headers Host, Origin and Sec-Fetch-Site; None where missing.
        session: the value of the session's cookie, or None.
    """

    method: str
    host: str | None
    origin: str | None
    site: str | None
    session: str | None


@dataclass(slots=True)
class Session:
    """One browser that was let in.

    Attributes:
        id: what its cookie holds.
        reviewer: who works in it, by the name that changes are kept under; empty until said.
        seen_at_s: when its last request came, on the gate's clock.
        work: what its acts are kept under, so that they can be taken back; no secret.
        message: what was done last and not yet told.
        offers: what the last correction could teach, not yet offered.
    """

    id: str
    reviewer: str
    seen_at_s: float
    work: str = field(default_factory=lambda: str(uuid.uuid4()))
    message: str = ""
    offers: tuple[Lesson, ...] = ()

    def take_offers(self) -> tuple[Lesson, ...]:
        """Return what waits to be offered, once."""
        offers, self.offers = self.offers, ()
        return offers

    def take_message(self) -> str:
        """Return the message that waits, once."""
        message, self.message = self.message, ""
        return message


@dataclass(slots=True, kw_only=True)
class Gate:
    """Knows the token, the sessions, and the one address that requests may be sent to.

    Attributes:
        port: the port that is served.
        reviewer: the name that new sessions begin with; may be empty.
        clock: seconds that only go forward.
    """

    port: int
    reviewer: str = ""
    clock: Callable[[], float] = time.monotonic
    _token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _sessions: dict[str, Session] = field(default_factory=dict)
    _begun_at_s: float = field(init=False)

    def __post_init__(self) -> None:
        self._begun_at_s = self.clock()

    @property
    def host(self) -> str:
        """The only ``Host`` that is answered."""
        return f"127.0.0.1:{self.port}"

    @property
    def cookie(self) -> str:
        """The name of the session's cookie."""
        return f"voicelog-review-{self.port}"

    @property
    def address(self) -> str:
        """The address to open, with the token; good once, for ten minutes."""
        return f"http://{self.host}/enter?token={self._token}"

    def enter(self, token: str) -> Session | None:
        """Exchange the token for a session; None when it is wrong, used or too old."""
        is_good = (
            bool(self._token)
            and hmac.compare_digest(token.encode(), self._token.encode())
            and self.clock() - self._begun_at_s < TOKEN_LIFE_S
        )
        if not is_good:
            return None
        self._token = ""
        session = Session(
            id=secrets.token_urlsafe(32), reviewer=self.reviewer, seen_at_s=self.clock()
        )
        self._sessions[session.id] = session
        return session

    def find_session(self, id_: str | None) -> Session | None:
        """Return the session of a cookie and note that it was seen; None when it is over."""
        session = self._sessions.get(id_ or "")
        if session is None:
            return None
        now_s = self.clock()
        if now_s - session.seen_at_s > SESSION_LIFE_S:
            del self._sessions[session.id]
            return None
        session.seen_at_s = now_s
        return session

    def check(self, knock: Knock, *, is_entering: bool = False) -> Refusal | None:
        """Return why a request is refused, or None when it may pass.

        Args:
            knock: the request.
            is_entering: whether it brings the token instead of a session.
        """
        if knock.host != self.host:
            return Refusal.HOST
        own = f"http://{self.host}"
        if knock.origin is not None and knock.origin != own:
            return Refusal.ORIGIN
        if is_entering:
            # Here the browser comes from the terminal, a desktop or a bookmark: no page at all.
            return Refusal.ORIGIN if knock.method not in _READING else None
        if knock.site is not None and knock.site not in _OWN_SITE:
            return Refusal.ORIGIN
        # Browsers name the origin of everything that changes something (Fetch, section 3.2).
        if knock.method not in _READING and knock.origin != own:
            return Refusal.ORIGIN
        if self.find_session(knock.session) is None:
            return Refusal.SESSION
        return None
