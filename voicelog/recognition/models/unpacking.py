"""Unpacks a downloaded archive without trusting it."""

from __future__ import annotations

import shutil
import stat
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from voicelog.errors import DownloadFailed

_MAX_BYTES = 12_000_000_000
_MAX_FILES = 2_000
# Published models shrink to about half; what grows more than this is a bomb.
_MAX_GROWTH = 50


def unpack_model(archive: Path, into: Path, *, name: str) -> None:
    """Unpack the archive, which may hold plain files under the folder ``name`` only.

    The checksum of every file is verified on the way.

    Raises:
        DownloadFailed: it is no zip file, is damaged, or holds what no model holds.
    """
    try:
        with zipfile.ZipFile(archive) as opened:
            members = [member for member in opened.infolist() if not member.is_dir()]
            _check_members(members, name=name, archive_bytes=archive.stat().st_size)
            for member in members:
                target = into / member.filename
                target.parent.mkdir(parents=True, exist_ok=True)
                with opened.open(member) as source, target.open("wb") as file:
                    shutil.copyfileobj(source, file)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        UnicodeError,
    ) as error:
        raise DownloadFailed(f"the archive is damaged ({error}).") from error


def _check_members(members: list[zipfile.ZipInfo], *, name: str, archive_bytes: int) -> None:
    if not members:
        raise DownloadFailed("the archive is empty.")
    total = sum(member.file_size for member in members)
    if len(members) > _MAX_FILES or total > min(_MAX_BYTES, _MAX_GROWTH * archive_bytes):
        raise DownloadFailed("the archive would unpack to far more than a model holds.")
    for member in members:
        # The upper half holds the Unix mode; the zip of another system leaves it 0.
        mode = member.external_attr >> 16
        path = PurePosixPath(member.filename)
        if stat.S_IFMT(mode) not in {0, stat.S_IFREG}:
            raise DownloadFailed(f"the archive holds a link or device ({member.filename}).")
        if (
            path.is_absolute()
            or ".." in path.parts
            or "\\" in member.filename
            or ":" in member.filename
            or path.parts[0] != name
        ):
            raise DownloadFailed(
                f"the archive holds a file outside the model's folder ({member.filename})."
            )
