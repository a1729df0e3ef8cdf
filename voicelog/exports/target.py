"""Writing a file or folder so that it is complete or not there at all."""

from __future__ import annotations

import hashlib
import os
import shutil
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path

from voicelog.errors import UsageError
from voicelog.store.export_record import ExportedFile
from voicelog.store.failures import explained


class Shape(StrEnum):
    """What an export is on the disk."""

    FILE = "file"
    FOLDER = "folder"


class Unfinished:
    """Something being written, under a passing name until all of it is there.

    Attributes:
        name: the name that it will have.
        shape: whether it is a file or a folder.
        path: where to write it: a file that isn't there yet, or an empty folder.
    """

    def __init__(self, target: Path, shape: Shape) -> None:
        self._target = target
        self.shape = shape
        self._beside: dict[Path, Path] = {}
        self._named: dict[Path, Path | None] = {}
        self.name = target.name
        self.path = _passing_name(target)

    def beside(self, suffix: str) -> Path:
        """Return where to write a further file, whose name will be that of the first + suffix."""
        target = self._target.with_name(self.name + suffix)
        _refuse_what_is_no_file(target)
        return self._beside.setdefault(target, _passing_name(target))

    def seal(self) -> tuple[ExportedFile, ...]:
        """Make sure that everything is on the disk; return what was written, with its checksums."""
        if self.shape is Shape.FOLDER:
            found = sorted(path for path in self.path.rglob("*") if path.is_file())
            named = {path: path.relative_to(self.path).as_posix() for path in found}
        else:
            named = {self.path: self.name}
            named |= {path: target.name for target, path in self._beside.items()}
        return tuple(_seal(path, name) for path, name in named.items())

    def take_name(self) -> None:
        """Give it its name; what had that name before is replaced."""
        # What describes the file comes first: alone it promises nothing that isn't so.
        for target, path in (*self._beside.items(), (self._target, self.path)):
            before = _keep_aside(target)
            path.replace(target)
            self._named[target] = before

    def take_back_name(self) -> None:
        """Undo :meth:`take_name`: what had the name before has it again."""
        for target, before in self._named.items():
            if before is not None:
                before.replace(target)
            else:
                _remove(target)
        self._named = {}

    def discard(self) -> None:
        """Remove whatever still has a passing name."""
        for path in (self.path, *self._beside.values(), *self._named.values()):
            if path is not None:
                _remove(path)


@contextmanager
def new_target(path: Path, shape: Shape = Shape.FILE) -> Iterator[Unfinished]:
    """Begin a file or folder that is there once it is given its name, and else never was.

    A file of that name stays as it was until then; a folder is only replaced when it is empty.

    Raises:
        UsageError: there is no such folder, or something is in the way that can't be replaced.
        DiskFull: there is no room for it.
        StoreError: it could not be written.
    """
    target = path.resolve()
    if shape is Shape.FOLDER:
        if target.exists() and not (target.is_dir() and not any(target.iterdir())):
            raise UsageError(f"{path} is there already; name a new or an empty folder with --out.")
    else:
        _refuse_what_is_no_file(target, said=path)
    if not target.parent.is_dir():
        raise UsageError(f"The folder of {path} is not there; make it, or name another with --out.")
    unfinished = Unfinished(target, shape)
    with explained(target.parent):
        try:
            if shape is Shape.FOLDER:
                unfinished.path.mkdir()
            yield unfinished
        finally:
            unfinished.discard()


def _passing_name(target: Path) -> Path:
    return target.with_name(f".unfinished-{uuid.uuid4().hex}")


def _keep_aside(target: Path) -> Path | None:
    """Give a file that is about to be replaced a second name; None where that can't be."""
    if not target.is_file():
        return None
    aside = _passing_name(target)
    try:
        os.link(target, aside)
    except OSError:
        return None  # Not every file system has second names.
    return aside


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _refuse_what_is_no_file(target: Path, *, said: Path | None = None) -> None:
    if target.exists() and not target.is_file():
        raise UsageError(f"{said or target} is not a file; name a file with --out.")


def _seal(path: Path, name: str) -> ExportedFile:
    with path.open("rb") as stream:
        sha256 = hashlib.file_digest(stream, "sha256").hexdigest()
        os.fsync(stream.fileno())
        return ExportedFile(name=name, sha256=sha256, size_bytes=stream.tell())
