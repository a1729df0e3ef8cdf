"""Fetches a published vosk model: the only code in voicelog that uses the network.

It runs when, and only when, a person asks for a model by name. A download that was cut
off goes on where it stopped. What arrives is unpacked beside its place, checked, and
moved into place in one step, so that no half a model is ever found.
"""

from __future__ import annotations

import hashlib
import http.client
import json
import logging
import shutil
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voicelog.errors import DownloadFailed, ModelDamaged, UsageError
from voicelog.recognition.models.published import load_published
from voicelog.recognition.models.unpacking import unpack_model
from voicelog.recognition.models.vosk_files import check_vosk_files, write_checksums

logger = logging.getLogger(__name__)

Progress = Callable[[int, int | None], None]
"""Is told how many bytes are there, and how many there will be if that is known."""

_CHUNK_BYTES = 1 << 18
_HERE = frozenset({"127.0.0.1", "localhost", "::1"})


@dataclass(frozen=True, slots=True, kw_only=True)
class FetchOptions:
    """Where from and how patiently a model is fetched.

    Attributes:
        base_url: the folder that holds the archives; https, except on this machine.
        sha256: the archive's checksum in hexadecimal, if the caller has one. Without it
            only the checksums inside the archive guard against damage, and nothing but
            https guards against a forged archive.
        attempts: how often a broken connection is taken up again.
        timeout_s: how long to wait for the server.
    """

    base_url: str = "https://alphacephei.com/vosk/models"
    sha256: str | None = None
    attempts: int = 5
    timeout_s: float = 30.0


def fetch_model(
    name: str, *, into: Path, progress: Progress, options: FetchOptions | None = None
) -> Path:
    """Download a published vosk model and return its folder.

    A model that is already there is checked and left as it is.

    Args:
        name: one of the names in the table of published models.
        into: the folder that is to hold the model's folder.
        progress: is told how far the download has come.
        options: where from and how.

    Raises:
        UsageError: no model of that name is known.
        DownloadFailed: it could not be downloaded, or what came is not the model.
        ModelDamaged: the model that is already there is damaged.
    """
    options = options or FetchOptions()
    known = [model.name for model in load_published()]
    if name not in known:
        raise UsageError(f"There is no model {name!r} to fetch; choose from {', '.join(known)}.")
    folder = into / name
    if folder.is_dir():
        check_vosk_files(folder)
        return folder
    url = f"{options.base_url.rstrip('/')}/{name}.zip"
    _check_address(url)
    try:
        into.mkdir(parents=True, exist_ok=True)
        archive = _Download(name, url, into=into, options=options).run(progress)
        _check_sum(archive, options.sha256, name=name)
        _install(archive, folder, name=name)
        archive.unlink()
    except OSError as error:
        raise DownloadFailed(
            f"The model {name} could not be saved in {into} ({error.strerror or error}); "
            "make room or choose another folder, then fetch it again."
        ) from error
    return folder


def _install(archive: Path, folder: Path, *, name: str) -> None:
    unpacked = folder.parent / f".{name}.unpacking"
    shutil.rmtree(unpacked, ignore_errors=True)
    try:
        unpack_model(archive, unpacked, name=name)
        check_vosk_files(unpacked / name)
        write_checksums(unpacked / name)
        (unpacked / name).replace(folder)
    except (DownloadFailed, ModelDamaged) as error:
        archive.unlink(missing_ok=True)
        raise DownloadFailed(
            f"What was downloaded as {name} is not a usable vosk model and was removed: {error}"
        ) from error
    finally:
        shutil.rmtree(unpacked, ignore_errors=True)


def _check_sum(archive: Path, expected: str | None, *, name: str) -> None:
    if expected is None:
        logger.info("No checksum given for %s; its zip checksums and its files are checked", name)
        return
    with archive.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
    if found != expected.strip().lower():
        archive.unlink()
        raise DownloadFailed(
            f"The download of {name} has the checksum {found}, not the one given; it was "
            "removed. Check the checksum, then fetch the model again."
        )


class _Download:
    """One archive on its way: kept in a hidden file until it is complete."""

    def __init__(self, name: str, url: str, *, into: Path, options: FetchOptions) -> None:
        self._name = name
        self._url = url
        self._options = options
        self._part = into / f".{name}.zip.part"
        self._note = into / f".{name}.zip.part.json"
        self._opener = urllib.request.build_opener(_CarefulRedirects())

    def run(self, progress: Progress) -> Path:
        """Download what is still missing and return the complete archive."""
        problem: Exception | None = None
        for _ in range(max(1, self._options.attempts)):
            try:
                if self._receive(progress):
                    self._note.unlink(missing_ok=True)
                    return self._part
                problem = None
            except urllib.error.HTTPError as error:
                if error.code == http.HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE:
                    self._part.unlink(missing_ok=True)
                elif error.code < 500:
                    raise self._failed(f"the server answered {error.code}") from error
                problem = error
            except (urllib.error.URLError, http.client.HTTPException, OSError) as error:
                if isinstance(error, OSError) and error.filename:
                    raise  # Our own file, not the connection.
                problem = error
        reason = getattr(problem, "reason", None) or problem or "the connection broke off"
        raise self._failed(str(reason))

    def _receive(self, progress: Progress) -> bool:
        """Take in what one connection gives; say whether the archive is complete."""
        there = self._part.stat().st_size if self._part.exists() else 0
        request = urllib.request.Request(self._url)  # noqa: S310  (_check_address)
        version = self._known_version()
        if there and version:
            request.add_header("Range", f"bytes={there}-")
            request.add_header("If-Range", version)
        with self._opener.open(request, timeout=self._options.timeout_s) as response:
            goes_on = response.status == http.HTTPStatus.PARTIAL_CONTENT
            there = there if goes_on else 0
            length = response.headers.get("Content-Length", "")
            total = there + int(length) if length.isdecimal() else None
            self._remember_version(response.headers)
            self._check_room(total, there=there)
            with self._part.open("ab" if goes_on else "wb") as file:
                progress(there, total)
                while chunk := response.read(_CHUNK_BYTES):
                    file.write(chunk)
                    there += len(chunk)
                    progress(there, total)
        return total is None or there >= total

    def _known_version(self) -> str | None:
        try:
            version = json.loads(self._note.read_text(encoding="utf-8"))["version"]
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return version if isinstance(version, str) else None

    def _remember_version(self, headers: Any) -> None:
        """Keep what tells this version of the archive from a later one (RFC 9110, 13.1.5)."""
        version = headers.get("ETag") or headers.get("Last-Modified")
        if version and not version.startswith("W/"):
            self._note.write_text(json.dumps({"version": version}), encoding="utf-8")
        else:
            self._note.unlink(missing_ok=True)

    def _check_room(self, total: int | None, *, there: int) -> None:
        free = shutil.disk_usage(self._part.parent).free
        # The archive and, beside it, what is unpacked from it.
        wanted = 3 * total - there if total else 0
        if wanted > free:
            raise self._failed(
                f"about {wanted // 1_000_000} MB are needed on the disk and "
                f"{free // 1_000_000} MB are free"
            )

    def _failed(self, reason: str) -> DownloadFailed:
        return DownloadFailed(
            f"The model {self._name} could not be downloaded from {self._url}: {reason}. "
            "Fetch it again to go on where it stopped."
        )


class _CarefulRedirects(urllib.request.HTTPRedirectHandler):
    """Follows a server elsewhere, but never from https to something less."""

    def redirect_request(
        self, req: urllib.request.Request, fp: Any, code: int, msg: str, headers: Any, newurl: str
    ) -> urllib.request.Request | None:
        _check_address(newurl)
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def _check_address(url: str) -> None:
    parts = urllib.parse.urlsplit(url)
    if parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in _HERE):
        return
    raise DownloadFailed(f"Models are only fetched over https, not from {url}.")
