"""What keeps a log for years: copies of it, and what can be saved of a damaged one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from voicelog.errors import UsageError
from voicelog.exports.target import Shape, new_target
from voicelog.store.backup import Backup, back_up
from voicelog.store.folder import require_log_folder, sync_names


def back_up_log(
    folder: Path, target: Path, *, on_bytes: Callable[[int], None] = lambda _count: None
) -> Backup:
    """Copy a log to a folder that is there when all of it is, and verified; else it never was.

    Args:
        folder: the log's folder.
        target: the folder of the copy.
        on_bytes: is told how much of the copied recordings was read again.

    Raises:
        UsageError: there is no log, or no such place for the copy.
        DiskFull: there is no room for the copy.
        StoreError: the log is damaged, or the copy did not become what the log is.
    """
    require_log_folder(folder)
    _refuse_inside(folder, target)
    with new_target(target, Shape.FOLDER) as unfinished:
        made = back_up(folder, unfinished.path, on_bytes=on_bytes)
        unfinished.take_name()
        sync_names(target.resolve().parent)
    return made


def _refuse_inside(folder: Path, target: Path) -> None:
    if target.resolve().is_relative_to(folder.resolve()):
        raise UsageError(
            f"{target} lies inside the log itself; name a folder elsewhere with --out, best on "
            "another disk."
        )
