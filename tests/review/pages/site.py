"""A log served to this machine by the real server, and ways to ask it things."""

from __future__ import annotations

import http.client
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from fastapi import FastAPI

from voicelog.extraction.reader import Reader
from voicelog.review.pages.app import make_app
from voicelog.review.pages.desk import ReviewDesk, read_uid
from voicelog.review.pages.fields import spelling
from voicelog.review.pages.gate import Gate
from voicelog.review.pages.second_hearing import SecondHearing
from voicelog.review.pages.server import claim_port, make_server
from voicelog.review.readings import Readings
from voicelog.testing import ScriptedRecogniser

REVIEWER = "Hazel Wren"
PATIENCE_S = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the server answered."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode("utf-8")


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A log that is being served."""

    folder: Path
    gate: Gate
    app: FastAPI

    @property
    def origin(self) -> str:
        return f"http://{self.gate.host}"

    def enter(self) -> str:
        """Use the token and return the cookie."""
        path = self.gate.address.removeprefix(self.origin)
        answer = self.ask("GET", path)
        assert answer.status == 303
        return answer.headers["set-cookie"].split(";")[0]

    def ask(
        self,
        method: str,
        path: str,
        *,
        form: Mapping[str, object] | None = None,
        body: bytes | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        """Send one request with exactly these headers (Host is added unless given)."""
        sent = {"Host": self.gate.host} | dict(headers or {})
        if form is not None:
            body = urlencode(form, doseq=True).encode()
            sent["Content-Type"] = "application/x-www-form-urlencoded"
        connection = http.client.HTTPConnection("127.0.0.1", self.gate.port, timeout=PATIENCE_S)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            if body is not None:
                sent.setdefault("Content-Length", str(len(body)))
            for name, value in sent.items():
                connection.putheader(name, value)
            connection.endheaders(body)
            response = connection.getresponse()
            return Answer(
                status=response.status,
                headers={name.lower(): value for name, value in response.getheaders()},
                body=response.read(),
            )
        finally:
            connection.close()


@dataclass(slots=True)
class Browser:
    """Somebody who was let in, without a browser's window."""

    site: Site
    cookie: str

    def get(self, path: str, **headers: str) -> Answer:
        return self.site.ask("GET", path, headers={"Cookie": self.cookie} | headers)

    def post(self, path: str, **form: object) -> Answer:
        headers = {"Cookie": self.cookie, "Origin": self.site.origin}
        return self.site.ask("POST", path, form=form, headers=headers)


@contextmanager
def serving(folder: Path, reader: Reader, *, reviewer: str = REVIEWER) -> Iterator[Site]:
    """Serve a log until the block is left."""
    with claim_port(None) as listening:
        gate = Gate(port=listening.getsockname()[1], reviewer=reviewer)
        readings = Readings(reader)
        desk = ReviewDesk(
            folder=folder,
            uid=read_uid(folder),
            vocabulary=reader.vocabulary,
            get_reader=lambda: reader,
            get_readings=lambda: readings,
            made_by="voicelog test",
            spell=spelling("british"),
            second=SecondHearing(
                recognisers={"second": lambda: ScriptedRecogniser(["quite another thing"])}
            ),
            sample_percent=5,
        )
        app = make_app(desk, gate)
        server = make_server(app)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            deadline = time.monotonic() + PATIENCE_S
            while not server.started:
                assert time.monotonic() < deadline, "the server never began"
                time.sleep(0.01)
            yield Site(folder=folder, gate=gate, app=app)
        finally:
            server.should_exit = True
            thread.join(PATIENCE_S)
