"""Saying which plug-ins were left out, each reason once in a run."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager

from voicelog.plug_ins import logger


class _SayOnce(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self._said: set[str] = set()

    def emit(self, record: logging.LogRecord) -> None:
        # Only here, because it brings what tables and progress bars need.
        from voicelog.cli.terminal import say  # noqa: PLC0415

        message = record.getMessage()
        if message not in self._said:
            self._said.add(message)
            say(message)


@contextmanager
def telling_what_is_left_out() -> Iterator[None]:
    """Say on standard error why a plug-in is left out, while a command runs."""
    handler = _SayOnce()
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)
