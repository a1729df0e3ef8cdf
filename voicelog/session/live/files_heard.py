"""The files of a session in the log: begun, sealed, heard to their end."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog


class FilesHeard:
    """Tells the log how far each file of a session has come.

    A file is finished once it is complete and all its notes were heard; until then the
    next start would go on with it. A file in which a note could not be heard is spoilt:
    it stays unfinished, and nothing behind that note is taken from it now.
    """

    def __init__(self, log: WritableLog) -> None:
        self._log = log
        self._recordings: dict[str, Recording] = {}
        self._half_done: set[str] = set()
        self._spoilt: set[str] = set()

    def begin(self, recording: Recording) -> None:
        """A file has been begun; it enters the log."""
        self._recordings[recording.file] = recording
        self._log.add_recording(recording)

    def seal(self, recording: Recording) -> None:
        """A file is complete."""
        self._log.seal_recording(recording)
        self._settle(recording.file)

    def finish(self, file: str) -> None:
        """All notes of a file were heard."""
        self._settle(file)

    def spoil(self, file: str) -> None:
        """A note of a file could not be heard."""
        self._spoilt.add(file)

    def is_spoilt(self, file: str) -> bool:
        """Say whether notes of a file are left to the next start."""
        return file in self._spoilt

    def wall_clock(self, file: str | None, at_s: float) -> str:
        """Return when a second of a file was said; now, where nothing was kept of it."""
        recording = self._recordings.get(file or "")
        if recording is None or recording.recorded_at is None:
            return datetime.now(UTC).astimezone().isoformat(timespec="seconds")
        moment = datetime.fromisoformat(recording.recorded_at) + timedelta(seconds=at_s)
        return moment.isoformat(timespec="seconds")

    def _settle(self, file: str) -> None:
        """Both the seal and the last note come, in either order."""
        if file not in self._half_done:
            self._half_done.add(file)
        elif file not in self._spoilt:
            self._log.finish_recording(file)
