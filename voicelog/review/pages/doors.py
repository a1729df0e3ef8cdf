"""The door in front of the pages: every request passes it, and every answer.

It asks the gate, measures what is sent, and puts on every answer the headers that keep
a browser from running, loading or telling anything that isn't ours.
"""

from __future__ import annotations

from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from voicelog.review.pages.filling import Pages
from voicelog.review.pages.gate import Gate, Knock, Refusal

LARGEST_BODY_BYTES = 1024 * 1024
"""No form of ours is larger: one correction for 20,000 rows names each with some 50 letters."""

ENTRANCE = "/enter"
_FOUND = frozenset({200, 206, 304})
STATIC = "/static/"
"""Where our own style and scripts are; they hold nothing of the log."""
_KEPT = "private, max-age=31536000, immutable"  # RFC 9111, section 5.2; RFC 8246

SECURITY_HEADERS = {
    # CSP Level 3, section 6. Nothing inline, nothing from elsewhere, never in a frame.
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "media-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    # Not "no-referrer": with it, browsers send "Origin: null" with our own forms.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    # Pages and sound stay out of the browser's cache on the disk.
    "cache-control": "no-store",
}


class Door:
    """Lets requests in that the gate lets in, and nothing out without the headers."""

    def __init__(self, app: ASGIApp, *, gate: Gate, pages: Pages) -> None:
        self._app = app
        self._gate = gate
        self._pages = pages

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                if scope["path"].startswith(STATIC) and message["status"] in _FOUND:
                    headers["cache-control"] = _KEPT
                for name, value in SECURITY_HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        headers = Headers(scope=scope)
        knock = _read_knock(scope, headers, self._gate.cookie)
        refusal = self._check(scope["path"], knock)
        if refusal is not None:
            answer = self._pages.refusal(refusal)
            await answer(scope, receive, send_guarded)
            return
        if _is_too_large(headers):
            await self._pages.too_large()(scope, receive, send_guarded)
            return
        scope.setdefault("state", {})["session"] = self._gate.find_session(knock.session)
        counted = _Counted(receive)
        try:
            await self._app(scope, counted, send_guarded)
        except _TooLarge:
            await self._pages.too_large()(scope, receive, send_guarded)

    def _check(self, path: str, knock: Knock) -> Refusal | None:
        if path.startswith(STATIC):
            # The refusal's page needs them too.
            return None if knock.host == self._gate.host else Refusal.HOST
        return self._gate.check(knock, is_entering=path == ENTRANCE)


class _TooLarge(Exception):
    """More was sent than a form of ours can hold."""


class _Counted:
    """Passes on what is sent and stops at the limit, whatever length was announced."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._bytes = 0

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._bytes += len(message.get("body", b""))
            if self._bytes > LARGEST_BODY_BYTES:
                raise _TooLarge
        return message


def _read_knock(scope: Scope, headers: Headers, cookie: str) -> Knock:
    return Knock(
        method=scope["method"],
        host=headers.get("host"),
        origin=headers.get("origin"),
        site=headers.get("sec-fetch-site"),
        session=_find_cookie(headers.get("cookie", ""), cookie),
    )


def _find_cookie(header: str, name: str) -> str | None:
    try:
        found = SimpleCookie(header).get(name)
    except CookieError:
        return None
    return found.value if found else None


def _is_too_large(headers: Headers) -> bool:
    announced = headers.get("content-length", "0")
    return not announced.isdecimal() or int(announced[:12]) > LARGEST_BODY_BYTES
