"""Opening a bag that somebody else made: all of it is in order, or nothing is taken.

A bag is a folder after RFC 8493 (The BagIt File Packaging Format 1.0), or a ZIP file of one.
Before its checksums are looked at, everything is refused that could reach out of the bag or
fill the disk; the sections of the RFC are named where they are applied.
"""

from __future__ import annotations

import logging
import os
import re
import stat
import tempfile
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import BagRefused
from voicelog.session.bringing_in.zipped_bag import unpack

MOST_FILES = 100_000
"""A log of a thousand hours has about 4,000 recordings; more files than this is no log."""
LONGEST_TAG_FILE_BYTES = 50_000_000
"""A manifest line takes about 200 bytes, and there are at most :data:`MOST_FILES` of them."""

_FIRST_LINES = re.compile(
    rb"BagIt-Version: \d{1,4}\.\d{1,4}\r?\nTag-File-Character-Encoding: ([\w.:-]{1,40})(\r?\n)*"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BagFolder:
    """A bag that was found to be in order.

    Attributes:
        path: its folder.
        source: the file or folder that was named.
    """

    path: Path
    source: Path

    def payload(self, name: str) -> Path | None:
        """Return the file of this name below ``data/``, or None."""
        path = self.path / "data" / name
        return path if path.is_file() else None


@contextmanager
def open_bag(source: Path) -> Iterator[BagFolder]:
    """Open a bag once everything in it was found to be in order.

    Nothing is fetched, nothing outside the bag is read, and a ZIP file is unpacked into a
    folder that is gone afterwards.

    Args:
        source: the bag's folder, or a ZIP file that holds one.

    Raises:
        BagRefused: it is no bag, it is damaged, or something in it should not be there.
    """
    if source.is_dir():
        check_bag(source, source=source)
        yield BagFolder(path=source, source=source)
        return
    if not source.is_file():
        raise BagRefused(
            f"{source} is not there; name a bag's folder or ZIP file.", source=str(source)
        )
    with tempfile.TemporaryDirectory(prefix="voicelog-bag-") as scratch:
        folder = unpack(source, Path(scratch))
        check_bag(folder, source=source)
        yield BagFolder(path=folder, source=source)


def check_bag(folder: Path, *, source: Path) -> None:
    """Make sure that a folder is a bag, complete and unchanged, with nothing strange in it.

    Args:
        folder: the folder.
        source: what to call it in messages.

    Raises:
        BagRefused: it isn't; the sentence says why.
    """
    _check_files(folder, source)
    encoding = _check_declaration(folder, source)
    for manifest in _find_manifests(folder):
        _check_paths(manifest, encoding, source)
    _check_sums(folder, source)


def check_name(name: str) -> str | None:
    r"""Return what is wrong with a path inside a bag, or None.

    RFC 8493, section 5.1.1: a path that leads out of the bag must not be followed.

    >>> check_name("data/log.sqlite") is None, check_name("./data/log.sqlite") is None
    (True, True)
    >>> check_name("data/../../notes"), check_name("/etc/passwd"), check_name("C:\\notes")
    ('leads out of the bag', 'leads out of the bag', 'leads out of the bag')
    """
    parts = re.split(r"[/\\]", name)
    leads_out = name.startswith(("/", "\\", "~")) or ".." in parts or re.match(r"[A-Za-z]:", name)
    if leads_out:
        return "leads out of the bag"
    if "\\" in name:
        return "has a backslash in it"
    if any(unicodedata.category(character) in {"Cc", "Cs"} for character in name):
        return "has control characters in it"
    return None


def _check_files(folder: Path, source: Path) -> None:
    """Refuse links, devices and names that no log would give; follow nothing."""
    count = 0
    waiting = [folder]
    while waiting:
        try:
            children = list(os.scandir(waiting.pop()))
        except OSError as failure:
            raise _unreadable(failure, source) from failure
        for child in children:
            count += 1
            if count > MOST_FILES:
                raise BagRefused(
                    f"{source} holds more than {MOST_FILES} files and is no bag of a log; "
                    "nothing was brought in.",
                    source=str(source),
                )
            if fault := check_name(f"./{child.name}") or _find_fault(child):
                name = os.path.relpath(child.path, folder)
                raise _refused(f"{name!r} in it {fault}", source)
            if child.is_dir(follow_symlinks=False):
                waiting.append(Path(child.path))


def _find_fault(child: os.DirEntry[str]) -> str | None:
    mode = child.stat(follow_symlinks=False).st_mode
    if stat.S_ISLNK(mode):
        return "is a link to somewhere else"
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        return "is not a file"
    return None


def _check_declaration(folder: Path, source: Path) -> str:
    """Return the encoding that ``bagit.txt`` declares (RFC 8493, section 2.1.1)."""
    declaration = folder / "bagit.txt"
    if not declaration.is_file():
        raise BagRefused(
            f"{source} is not a bag (there is no bagit.txt in it); "
            "name a folder or ZIP file that 'voicelog export bag' made.",
            source=str(source),
        )
    if (folder / "fetch.txt").exists():
        # Section 2.2.3. A bag of a log is complete; fetching would be somebody else's choice
        # of what this machine asks the network for.
        raise _refused("it wants files fetched from elsewhere (fetch.txt)", source)
    found = _FIRST_LINES.fullmatch(_read_tag_file(declaration, source))
    if found is None:
        raise _refused("its bagit.txt is not the two lines that a bag begins with", source)
    encoding = found[1].decode("ascii")
    try:
        "".encode(encoding)
    except LookupError:
        raise _refused(f"its text files are in an unknown encoding ({encoding})", source) from None
    return encoding


def _find_manifests(folder: Path) -> tuple[Path, ...]:
    return tuple(sorted((*folder.glob("manifest-*.txt"), *folder.glob("tagmanifest-*.txt"))))


def _check_paths(manifest: Path, encoding: str, source: Path) -> None:
    try:
        text = _read_tag_file(manifest, source).decode(encoding)
    except UnicodeError:
        raise _refused(f"{manifest.name} is not {encoding} text", source) from None
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) > MOST_FILES:
        raise _refused(f"{manifest.name} lists more than {MOST_FILES} files", source)
    for line in lines:
        _, _, name = line.lstrip("\ufeff").strip().partition(" ")
        name = name.strip().removeprefix("*")
        if fault := check_name(name):
            raise _refused(f"{name!r} in {manifest.name} {fault}", source)


def _check_sums(folder: Path, source: Path) -> None:
    import bagit  # noqa: PLC0415 - it starts up translations; only this command needs it

    with _quiet(bagit.LOGGER):
        try:
            bagit.Bag(str(folder)).validate(processes=1)
        except bagit.BagError as failure:
            raise _refused(_describe(failure), source) from failure
        except OSError as failure:
            raise _unreadable(failure, source) from failure
        except (ValueError, UnicodeError) as failure:
            raise _refused("its manifests can't be read", source) from failure


def _describe(failure: Exception) -> str:
    """Put what the library found into our words; it names the first of many faults."""
    import bagit  # noqa: PLC0415 - as above

    details = getattr(failure, "details", None) or [failure]
    match details[0]:
        case bagit.ChecksumMismatch() as mismatch:
            return f"{mismatch.path} in it has changed since the bag was made"
        case bagit.FileMissing() as missing:
            return f"{missing.path} is missing from it"
        case bagit.UnexpectedFile() as unexpected:
            return f"{unexpected.path} in it is in no manifest"
    return f"it is no valid bag ({str(failure).rstrip('.')})"


@contextmanager
def _quiet(logger: logging.Logger) -> Iterator[None]:
    """Keep the library from printing what we say ourselves."""
    was = logger.disabled
    logger.disabled = True
    try:
        yield
    finally:
        logger.disabled = was


def _read_tag_file(path: Path, source: Path) -> bytes:
    try:
        if path.stat().st_size > LONGEST_TAG_FILE_BYTES:
            raise _refused(f"{path.name} in it is far too long", source)
        return path.read_bytes()
    except OSError as failure:
        raise _unreadable(failure, source) from failure


def _refused(why: str, source: Path) -> BagRefused:
    return BagRefused(
        f"The bag {source} is refused: {why}. Nothing was brought in; "
        "have the bag made and sent again.",
        source=str(source),
    )


def _unreadable(failure: OSError, source: Path) -> BagRefused:
    reason = (failure.strerror or str(failure)).lower()
    return BagRefused(
        f"The bag {source} can't be read ({reason}); check its rights and the disk. "
        "Nothing was brought in.",
        source=str(source),
    )
