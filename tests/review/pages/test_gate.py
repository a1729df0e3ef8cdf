"""Only the browser that was let in, only from our own pages, only on this machine."""

from __future__ import annotations

import re
import socket

import pytest

from tests.review.pages.site import Browser, Site
from voicelog.errors import UsageError
from voicelog.review.pages.doors import LARGEST_BODY_BYTES
from voicelog.review.pages.gate import SESSION_LIFE_S, TOKEN_LIFE_S, Gate, Knock, Refusal
from voicelog.review.pages.server import claim_port

HOST = "127.0.0.1:8000"
OWN = f"http://{HOST}"


class Clock:
    now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gate(clock: Clock) -> Gate:
    return Gate(port=8000, clock=clock)


def token_of(gate: Gate) -> str:
    return gate.address.partition("token=")[2]


def knock(session: str | None, **changes: str | None) -> Knock:
    usual = {"method": "GET", "host": HOST, "origin": None, "site": "same-origin"}
    return Knock(session=session, **{**usual, **changes})  # type: ignore[arg-type]


class TestTheToken:
    """One address, one browser, ten minutes."""

    def test_lets_in_once(self, gate: Gate) -> None:
        token = token_of(gate)
        assert gate.enter(token) is not None
        assert gate.enter(token) is None

    @pytest.mark.parametrize("guess", ["", "guess", "é" * 43])
    def test_is_not_guessed(self, gate: Gate, guess: str) -> None:
        assert gate.enter(guess) is None
        assert gate.enter(token_of(gate)) is not None

    def test_grows_too_old(self, gate: Gate, clock: Clock) -> None:
        clock.now_s += TOKEN_LIFE_S
        assert gate.enter(token_of(gate)) is None

    def test_is_another_each_time(self, gate: Gate) -> None:
        assert token_of(gate) != token_of(Gate(port=8000))
        assert len(token_of(gate)) >= 43


class TestTheSession:
    """It ends, but not in the middle of a working day."""

    def test_lasts_while_it_is_used(self, gate: Gate, clock: Clock) -> None:
        session = gate.enter(token_of(gate))
        assert session is not None
        for _ in range(3):
            clock.now_s += SESSION_LIFE_S
            assert gate.find_session(session.id) is session

    def test_is_over_after_that(self, gate: Gate, clock: Clock) -> None:
        session = gate.enter(token_of(gate))
        assert session is not None
        clock.now_s += SESSION_LIFE_S + 1
        assert gate.check(knock(session.id)) is Refusal.SESSION

    @pytest.mark.parametrize(
        ("changes", "refusal"),
        [
            ({}, None),
            ({"site": None}, None),
            ({"site": "none"}, None),
            ({"host": None}, Refusal.HOST),
            ({"host": "localhost:8000"}, Refusal.HOST),
            ({"host": "127.0.0.1"}, Refusal.HOST),
            ({"host": "rebound.invalid:8000"}, Refusal.HOST),
            ({"origin": "http://elsewhere.invalid"}, Refusal.ORIGIN),
            ({"origin": "http://127.0.0.1:8001"}, Refusal.ORIGIN),
            ({"origin": "null"}, Refusal.ORIGIN),
            ({"site": "cross-site"}, Refusal.ORIGIN),
            ({"site": "same-site"}, Refusal.ORIGIN),
            ({"method": "POST"}, Refusal.ORIGIN),
            ({"method": "POST", "origin": "null"}, Refusal.ORIGIN),
            ({"method": "POST", "origin": OWN}, None),
            ({"method": "DELETE"}, Refusal.ORIGIN),
        ],
    )
    def test_passes_only_our_own_requests(
        self, gate: Gate, changes: dict[str, str | None], refusal: Refusal | None
    ) -> None:
        session = gate.enter(token_of(gate))
        assert session is not None
        assert gate.check(knock(session.id, **changes)) is refusal

    def test_is_needed(self, gate: Gate) -> None:
        assert gate.check(knock(None)) is Refusal.SESSION
        assert gate.check(knock("invented")) is Refusal.SESSION


class TestTheServer:
    """The same, asked of the server with forged requests."""

    def test_refuses_without_the_cookie(self, site: Site) -> None:
        for path in ("/", "/work", "/keys", "/notes/1/sound.wav", "/terms/condition", "/nowhere"):
            answer = site.ask("GET", path)
            assert answer.status == 403
            assert "was not let in" in answer.text
            assert "2031-007" not in answer.text

    def test_refuses_another_host(self, browser: Browser) -> None:
        answer = browser.get("/work", Host="rebound.invalid")
        assert answer.status == 403

    def test_refuses_another_origin(self, browser: Browser) -> None:
        headers = {"Cookie": browser.cookie, "Origin": "http://elsewhere.invalid"}
        answer = browser.site.ask("POST", "/undo", form={"back": "/work"}, headers=headers)
        assert answer.status == 403

    def test_refuses_a_token_used_before(self, site: Site) -> None:
        site.enter()
        answer = site.ask("GET", "/enter?token=used")
        assert answer.status == 403
        assert "start it again" in answer.text

    def test_gives_a_strict_cookie(self, site: Site) -> None:
        path = site.gate.address.removeprefix(site.origin)
        cookie = site.ask("GET", path).headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert str(site.gate.port) in cookie.partition("=")[0]

    @pytest.mark.parametrize("path", ["/work", "/static/elsewhere.js", "/nowhere", "/keys"])
    def test_guards_every_answer(self, browser: Browser, path: str) -> None:
        headers = browser.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert "no-store" in headers["cache-control"]

    def test_lets_style_and_scripts_be_kept(self, browser: Browser) -> None:
        """They hold nothing of the log, and their addresses change when they do."""
        style = re.search(r'href="(/static/\w+/review\.css)"', browser.get("/work").text)
        assert style
        headers = browser.get(style[1]).headers
        assert "immutable" in headers["cache-control"]
        assert "default-src 'none'" in headers["content-security-policy"]

    def test_guards_its_refusals_too(self, site: Site) -> None:
        assert "default-src 'none'" in site.ask("GET", "/work").headers["content-security-policy"]

    def test_measures_what_is_sent(self, browser: Browser) -> None:
        answer = browser.post("/reviewer", reviewer="x" * LARGEST_BODY_BYTES)
        assert answer.status == 413
        assert "nothing was changed" in answer.text

    def test_measures_what_comes_without_a_length(self, browser: Browser) -> None:
        chunk = b"reviewer=" + b"x" * 5000
        body = b"".join(b"%x\r\n%s\r\n" % (len(chunk), chunk) for _ in range(250)) + b"0\r\n\r\n"
        headers = {
            "Cookie": browser.cookie,
            "Origin": browser.site.origin,
            "Content-Type": "application/x-www-form-urlencoded",
            "Transfer-Encoding": "chunked",
            "Host": browser.site.gate.host,
        }
        with socket.create_connection(("127.0.0.1", browser.site.gate.port), timeout=60) as raw:
            head = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
            raw.sendall(f"POST /reviewer HTTP/1.1\r\n{head}\r\n".encode() + body)
            assert raw.recv(4096).split()[1] in {b"413", b"400"}

    @pytest.mark.parametrize(
        "path",
        [
            "/static/../app.py",
            "/static/%2e%2e/app.py",
            "/static/..%2fapp.py",
            "/notes/../../log.sqlite/sound.wav",
            "/notes/..%2f..%2flog.sqlite/sound.wav",
            "/notes/0/sound.wav",
            "/notes/-1/sound.wav",
            "/notes/1e3/sound.wav",
            "/notes/99999999999999999999/sound.wav",
            "/notes/999/sound.wav",
            "/notes/1/sound.wav%00",
        ],
    )
    def test_gives_no_file_by_a_trick(self, browser: Browser, path: str) -> None:
        answer = browser.get(path)
        assert answer.status in {404, 422}
        assert b"SQLite format" not in answer.body
        assert b"import" not in answer.body

    def test_listens_on_this_machine_only(self) -> None:
        with claim_port(None) as listening:
            assert listening.getsockname()[0] == "127.0.0.1"

    def test_says_that_a_port_is_taken(self) -> None:
        with claim_port(None) as listening:
            port = listening.getsockname()[1]
            with pytest.raises(
                UsageError, match=rf"Port {port} can't be used .* another with --port"
            ):
                claim_port(port)
