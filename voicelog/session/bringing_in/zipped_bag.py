"""A bag in a ZIP file, unpacked with a hand on the brake.

A ZIP file says how long its members are, but it may lie: what is counted is what comes out.
"""

from __future__ import annotations

import lzma
import os
import re
import shutil
import stat
import unicodedata
import zipfile
import zlib
from pathlib import Path

from voicelog.errors import BagRefused

MOST_MEMBERS = 100_000
MOST_TIMES_LONGER = 100
"""How many times its packed length a member may come to, once it is longer than
:data:`HARMLESS_BYTES`. A database of text shrinks to a tenth, JSON to a twentieth, sound
hardly at all (tried on our own logs); a bomb comes to a thousand times and more."""
HARMLESS_BYTES = 10_000_000
_LONGEST_MEMBER_BYTES = 46 + 400  # in the list of members: its fixed part, and a long name
_LONGEST_END_BYTES = 22 + (1 << 16) + 20 + 56  # end record, comment, locator, large end record
_ELSEWHERE = 0xFFFF_FFFF  # in the end record: the end record of a large file has the number
_KEPT_FREE_BYTES = 200_000_000
_BLOCK_BYTES = 1 << 20


def unpack(source: Path, scratch: Path) -> Path:
    """Unpack a ZIP file that holds one bag, and return the bag's folder.

    Args:
        source: the ZIP file.
        scratch: an empty folder; on refusal it may hold part of the bag.

    Raises:
        BagRefused: it is no ZIP file, or something in it could do harm.
    """
    try:
        _check_directory(source)
        with zipfile.ZipFile(source) as archive:
            members = archive.infolist()
            _check_members(members, source, scratch)
            for member in members:
                _unpack_member(archive, member, source, scratch)
    # What a damaged or a crafted file can raise; RuntimeError is an encrypted member.
    except (
        zipfile.BadZipFile,
        zlib.error,
        lzma.LZMAError,
        NotImplementedError,
        RuntimeError,
        ValueError,
        EOFError,
        OverflowError,
    ) as failure:
        raise BagRefused(
            f"{source} is no ZIP file that can be read ({failure}); "
            "name a bag's folder or ZIP file. Nothing was brought in.",
            source=str(source),
        ) from failure
    except OSError as failure:
        reason = (failure.strerror or str(failure)).lower()
        raise BagRefused(
            f"The bag {source} can't be unpacked ({reason}); make room on the disk of "
            f"{scratch.parent} or unpack it yourself and name its folder. Nothing was brought in.",
            source=str(source),
        ) from failure
    return _only_folder(source, scratch)


def _check_directory(source: Path) -> None:
    """Refuse a list of members so long that reading it would fill the memory.

    The end record is at the end of the file (PKWARE APPNOTE, 4.3.16), or before it that of a
    large file (4.3.14); both say how many bytes the list has.
    """
    with source.open("rb") as stream:
        stream.seek(0, os.SEEK_END)
        stream.seek(max(0, stream.tell() - _LONGEST_END_BYTES))
        end = stream.read()
    length = _read_number(end, b"PK\x05\x06", offset=12, size=4)
    if length == _ELSEWHERE:
        length = _read_number(end, b"PK\x06\x06", offset=40, size=8)
    if length > MOST_MEMBERS * _LONGEST_MEMBER_BYTES:
        raise _refused(f"it holds more than {MOST_MEMBERS} files", source)


def _read_number(end: bytes, signature: bytes, *, offset: int, size: int) -> int:
    """Return a number in the last record of a kind; 0 where there is no such record."""
    at = end.rfind(signature)
    return int.from_bytes(end[at + offset : at + offset + size], "little") if at >= 0 else 0


def _check_members(members: list[zipfile.ZipInfo], source: Path, scratch: Path) -> None:
    if len(members) > MOST_MEMBERS:
        raise _refused(f"it holds more than {MOST_MEMBERS} files", source)
    seen: set[str] = set()
    for member in members:
        if fault := _find_fault(member):
            raise _refused(f"{member.filename!r} in it {fault}", source)
        # Two names that differ in case or composition only are one file on some disks.
        key = unicodedata.normalize("NFC", member.filename).casefold()
        if key in seen:
            raise _refused(f"{member.filename!r} is in it twice", source)
        seen.add(key)
    room = shutil.disk_usage(scratch).free - _KEPT_FREE_BYTES
    if sum(member.file_size for member in members) > room:
        raise _refused(f"it is too large for the disk of {scratch.parent}", source)


def _find_fault(member: zipfile.ZipInfo) -> str | None:
    # The name as it stands in the file: zipfile would cut it at a NUL.
    name = member.orig_filename
    parts = name.removesuffix("/").split("/")
    if name.startswith("/") or ".." in parts or re.match(r"[A-Za-z]:", name):
        return "leads out of the bag"
    if "\\" in name or "" in parts or "." in parts:
        return "is no plain path"
    if any(unicodedata.category(character) in {"Cc", "Cs"} for character in name):
        return "has control characters in its name"
    # The upper half of the attributes is what Unix calls the mode (PKWARE APPNOTE, 4.4.15).
    kind = stat.S_IFMT(member.external_attr >> 16)
    if kind not in {0, stat.S_IFREG, stat.S_IFDIR}:
        return "is a link or a device"
    if member.flag_bits & 1:
        return "is encrypted"
    if _is_bomb(member.file_size, member.compress_size):
        return "would come to more than a hundred times its length"
    return None


def _is_bomb(length: int, packed: int) -> bool:
    return length > HARMLESS_BYTES and length > MOST_TIMES_LONGER * max(1, packed)


def _unpack_member(
    archive: zipfile.ZipFile, member: zipfile.ZipInfo, source: Path, scratch: Path
) -> None:
    target = scratch / member.filename
    if member.is_dir():
        target.mkdir(parents=True, exist_ok=True)
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    length = 0
    with archive.open(member) as packed, target.open("xb") as unpacked:
        while block := packed.read(_BLOCK_BYTES):
            length += len(block)
            if length > member.file_size or _is_bomb(length, member.compress_size):
                raise _refused(f"{member.filename!r} in it is longer than it says", source)
            unpacked.write(block)


def _only_folder(source: Path, scratch: Path) -> Path:
    """Return the one folder that a packed bag must consist of (RFC 8493, section 4)."""
    children = list(scratch.iterdir())
    if len(children) != 1 or not children[0].is_dir():
        raise _refused("it does not consist of one folder", source)
    return children[0]


def _refused(why: str, source: Path) -> BagRefused:
    return BagRefused(
        f"The bag {source} is refused: {why}. Nothing was brought in; "
        "have the bag made and sent again.",
        source=str(source),
    )
