"""Exports as the log remembers them: what left the house, when, and as which bytes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedFile:
    """One file of an export.

    Attributes:
        name: its name; in an export that is a folder, its path inside the folder.
        sha256: fingerprint of its bytes, in hexadecimal.
        size_bytes: its size.
    """

    name: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportRecord:
    """One export.

    Attributes:
        format: the name of the format, as the command line has it.
        name: the name of the file or folder that was written, without its folder.
        made_at: wall clock, ISO 8601 with zone.
        as_of: when the log had last changed, ISO 8601 in UTC.
        made_by: the program and its version.
        entries: how many entries were written.
        restricted_left_out: how many stayed because their access is restricted.
        unconfirmed_left_out: how many stayed because nobody has confirmed them.
        include_restricted: whether restricted entries were asked for.
        include_unconfirmed: whether unconfirmed entries were asked for.
        changed_since: from when on changes were asked for, ISO 8601 in UTC, or None for all.
        files: every file that was written.
    """

    format: str
    name: str
    made_at: str
    as_of: str
    made_by: str
    entries: int
    restricted_left_out: int
    unconfirmed_left_out: int
    include_restricted: bool
    include_unconfirmed: bool
    changed_since: str | None
    files: tuple[ExportedFile, ...]
