"""Making a folder of files into a bag, after RFC 8493 (BagIt 1.0).

The bagit package would do this too, but it declares version 0.97, writes the day on which it
runs, and lists tag files in the order of the disk; the same log must give the same bag.
It reads our bags back in the tests, and is what checks a bag before it is brought in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from pathlib import Path

ALGORITHMS = ("sha256", "sha512")
"""RFC 8493, section 2.4: a tool must know both, and should write SHA-512."""
PAYLOAD = "data"

Tag = tuple[str, str]


def make_bag(folder: Path, tags: Sequence[Tag]) -> None:
    """Add to a folder what makes it a bag.

    Args:
        folder: holds the payload below ``data/`` and nothing else; names in it are plain.
        tags: what ``bag-info.txt`` says, in this order; the size is added.
    """
    payload = _list_files(folder / PAYLOAD)
    octets = sum(path.stat().st_size for path in payload)
    # Section 2.1.1; the two lines are given there to the letter.
    _write(folder / "bagit.txt", ["BagIt-Version: 1.0", "Tag-File-Character-Encoding: UTF-8"])
    info = [*tags, ("Payload-Oxum", f"{octets}.{len(payload)}")]
    _write(folder / "bag-info.txt", [f"{name}: {_on_one_line(value)}" for name, value in info])
    for algorithm in ALGORITHMS:
        _write_manifest(folder, f"manifest-{algorithm}.txt", payload, algorithm)
    tag_files = [path for path in sorted(folder.iterdir()) if path.is_file()]
    for algorithm in ALGORITHMS:
        _write_manifest(folder, f"tagmanifest-{algorithm}.txt", tag_files, algorithm)


def _list_files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _write_manifest(folder: Path, name: str, files: Iterable[Path], algorithm: str) -> None:
    lines = [f"{_digest(path, algorithm)}  {path.relative_to(folder).as_posix()}" for path in files]
    _write(folder / name, lines)


def _digest(path: Path, algorithm: str) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, algorithm).hexdigest()


def _write(path: Path, lines: Iterable[str]) -> None:
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8", newline="\n")


def _on_one_line(value: str) -> str:
    return " ".join(value.split())
