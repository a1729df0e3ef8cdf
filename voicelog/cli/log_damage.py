"""Looking for damage in a log, with a bar where a person watches."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from voicelog.cli.terminal import make_message_console, make_progress
from voicelog.store.folder import AUDIO_NAME
from voicelog.store.soundness import Damage, find_log_damage


def find_damage(folder: Path) -> tuple[Damage, ...]:
    """Return everything that is wrong with a log."""
    with showing_bytes(folder, "reading the recordings") as on_bytes:
        return tuple(find_log_damage(folder, on_bytes=on_bytes))


@contextmanager
def showing_bytes(folder: Path, what: str) -> Iterator[Callable[[int], None]]:
    """Show how much of a log's recordings was read; the function given is told each part."""
    total = sum(path.stat().st_size for path in (folder / AUDIO_NAME).glob("*") if path.is_file())
    with make_progress(make_message_console()) as progress:
        task = progress.add_task(what, total=total or None)
        yield lambda count: progress.advance(task, count)
