"""Writing a file so that it is complete or not there at all."""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from voicelog.errors import UsageError
from voicelog.store.failures import explained


@contextmanager
def new_file(path: Path) -> Iterator[TextIO]:
    """Open a text file that takes its name only when all of it is written.

    A file of that name is replaced at the end; when writing fails it stays as it was.

    Raises:
        UsageError: there is no such folder, or the path is not a file that can be replaced.
        DiskFull: there is no room for it.
        StoreError: it could not be written.
    """
    target = path.resolve()
    if target.exists() and not target.is_file():
        raise UsageError(f"{path} is not a file; name a file with --out.")
    if not target.parent.is_dir():
        raise UsageError(f"The folder of {path} is not there; make it, or name another with --out.")
    unfinished = target.with_name(f".{target.name[:60]}.{uuid.uuid4().hex}")
    with explained(target.parent):
        try:
            descriptor = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
            with os.fdopen(descriptor, "w", encoding="utf-8", newline="") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            unfinished.replace(target)
        except BaseException:
            unfinished.unlink(missing_ok=True)
            raise
