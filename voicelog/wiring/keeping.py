"""What keeps a log for years: copies of it, and what can be saved of a damaged one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from voicelog.errors import UsageError
from voicelog.exports.target import Shape, new_target
from voicelog.extraction.logbook import Logbook
from voicelog.session.salvaging import (
    Salvaged,
    adopt_recordings,
    copy_sound,
    understand_again,
)
from voicelog.session.scribe import Scribe
from voicelog.settings import Settings
from voicelog.store.backup import Backup, back_up
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME, require_log_folder, sync_names
from voicelog.store.salvage.rebuilding import Losses, leave_out_the_lost, rebuild
from voicelog.store.writing import WritableLog
from voicelog.wiring import MADE_BY
from voicelog.wiring.reading import KEPT_WITH_THE_LOG, make_reader, make_vocabulary


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


def salvage_log(folder: Path, target: Path, settings: Settings) -> tuple[Losses, Salvaged]:
    """Make a new log of all that can still be read of a damaged one, which is only read.

    Args:
        folder: the damaged log's folder.
        target: the folder of the new log; it is there when all of it is, else it never was.
        settings: how the notes are read again.

    Returns:
        what is lost, and what the new log holds.

    Raises:
        UsageError: there is no log, or no such place for the new one.
        DiskFull: there is no room for the new log.
        StoreError: it could not be written.
        VocabularyError: a term file is wrong.
    """
    require_log_folder(folder)
    _refuse_inside(folder, target)
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in KEPT_WITH_THE_LOG}
    with new_target(target, Shape.FOLDER) as unfinished:
        new = unfinished.path
        losses = rebuild(folder / DATABASE_NAME, new)
        unreadable = copy_sound(folder / AUDIO_NAME, new / AUDIO_NAME)
        with WritableLog.open_to_write(new, made_by=MADE_BY, facts={"reading": wanted}) as log:
            adopted, strange = adopt_recordings(log)
            reader = make_reader(vocabulary, settings, log.facts()["reading"], log)
            scribe = Scribe(log, Logbook(reader))
            read_anew, kept = understand_again(scribe, reader, losses, made_by=MADE_BY)
        left_out = leave_out_the_lost(new)
        with WritableLog.open_to_write(new, made_by=MADE_BY) as log:
            salvaged = Salvaged(
                notes=log.count_notes() - len(losses.notes),
                entries=log.count_entries(),
                acts=sum(1 for _ in log.iter_acts()),
                recordings=sum(
                    (log.audio_folder / one.file).is_file() for one in log.iter_recordings()
                ),
                read_anew=read_anew,
                kept=kept,
                adopted=adopted,
                unreadable=(*unreadable, *strange),
            )
        unfinished.take_name()
        sync_names(target.resolve().parent)
    return replace(losses, rows=losses.rows + left_out), salvaged


def _refuse_inside(folder: Path, target: Path) -> None:
    if target.resolve().is_relative_to(folder.resolve()):
        raise UsageError(
            f"{target} lies inside the log itself; name a folder elsewhere with --out, best on "
            "another disk."
        )
