"""Serving the pages to this machine, and to nobody else."""

from __future__ import annotations

import contextlib
import os
import socket

import uvicorn
from fastapi import FastAPI

from voicelog.errors import UsageError

HOME = "127.0.0.1"


def claim_port(port: int | None) -> socket.socket:
    """Return a socket that listens on this machine's own address only.

    Args:
        port: the port wanted, or None for any that is free.

    Raises:
        UsageError: another program has the port, or it isn't ours to use.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOME, port or 0))
        listening.listen(64)
    except (OSError, OverflowError) as failure:
        listening.close()
        reason = (getattr(failure, "strerror", None) or str(failure)).lower()
        raise UsageError(
            f"Port {port} can't be used ({reason}); name another with --port, or leave --port out."
        ) from failure
    return listening


def make_server(app: FastAPI) -> uvicorn.Server:
    """Return a server for the pages; it doesn't listen yet."""
    config = uvicorn.Config(
        app,
        log_config=None,
        # What goes wrong is said on the page; a traceback in the terminal helps no reviewer.
        log_level="error" if os.environ.get("VOICELOG_TRACEBACK") else "critical",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        lifespan="off",
        timeout_keep_alive=30,
        timeout_graceful_shutdown=3,
    )
    return uvicorn.Server(config)


def serve(app: FastAPI, listening: socket.socket) -> None:
    """Serve until Ctrl-C or a request to end comes.

    Args:
        app: the pages.
        listening: from :func:`claim_port`; who connects before we are ready waits in its queue.
    """
    with contextlib.suppress(KeyboardInterrupt):
        make_server(app).run(sockets=[listening])
