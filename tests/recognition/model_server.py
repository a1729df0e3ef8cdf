"""A small web server on this machine that offers a model, and can be made to misbehave."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass(kw_only=True)
class Offer:
    """What the server gives, and what it was asked.

    Attributes:
        content: the archive.
        etag: the version it is announced as; None to announce none.
        cut_after: bytes after which the next connections break off, one for each.
        status: answer every request with this instead.
        location: send every request there.
        ranges: the Range header of each request, in order.
    """

    content: bytes
    etag: str | None = '"one"'
    cut_after: list[int] = field(default_factory=list)
    status: int | None = None
    location: str | None = None
    ranges: list[str | None] = field(default_factory=list)


@contextmanager
def serve(offer: Offer) -> Iterator[str]:
    """Serve the offer under every name; give the address of its folder."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked = self.headers.get("Range")
            offer.ranges.append(asked)
            if offer.status is not None:
                self.send_response(offer.status)
                if offer.location:
                    self.send_header("Location", offer.location)
                self.end_headers()
                return
            start = 0
            found = re.fullmatch(r"bytes=(\d+)-", asked or "")
            if found and offer.etag and self.headers.get("If-Range") == offer.etag:
                start = int(found[1])
                self.send_response(206)
            else:
                self.send_response(200)
            rest = offer.content[start:]
            if offer.etag:
                self.send_header("ETag", offer.etag)
            self.send_header("Content-Length", str(len(rest)))
            self.end_headers()
            if offer.cut_after:
                rest = rest[: offer.cut_after.pop(0)]
                self.close_connection = True
            self.wfile.write(rest)

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(
        target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True
    )
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}/models"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
