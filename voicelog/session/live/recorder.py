"""The recorder: sound goes to the disk first, and only then to whoever listens."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np

from voicelog.errors import DiskFull, StoreError
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples
from voicelog.session.live.clocks import ClockWatch, Jump
from voicelog.session.live.journal import Event
from voicelog.session.live.quiet import QuietWatch
from voicelog.session.live.resampling import StreamResampler
from voicelog.session.live.session_files import (
    Machine,
    Occasion,
    RecorderWatcher,
    SessionFiles,
)
from voicelog.session.live.sources import Block, Pcm
from voicelog.store.failures import explained
from voicelog.store.sessions import Session

logger = logging.getLogger(__name__)

LOST_IN_COMPUTER = "sound was lost in the computer"
NO_SOUND_CAME = "no sound came"
SLEPT = "the computer slept"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecorderOptions:
    """How sound is kept.

    Attributes:
        file_s: after this long a new file begins in the next pause, or at the
            latest after half as long again.
        sync_s: whenever this much time or sound has passed, everything is brought to the
            disk; a power cut takes hardly more.
        gap_s: a break at least this long begins a new file; a shorter one is filled with
            silence, so that the times of words stay true.
        warn_bytes: free space on the disk below which somebody should be told.
        stop_bytes: free space below which recording stops.
    """

    file_s: float = 600.0
    sync_s: float = 0.8
    gap_s: float = 0.5
    warn_bytes: int = 500_000_000
    stop_bytes: int = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """Sound that is saved, or that was said while the recorder was paused.

    Another ``file`` than before means that nothing runs on: end the open note and begin
    again. Within one file, pieces follow each other without a gap.

    Attributes:
        samples: mono, int16, shape (n,), 16 000 Hz.
        file: the file in ``audio/`` that holds it; None while paused, when it is kept nowhere.
        start_s: where in that file it begins; while paused, seconds since the pause began.
        at: when it was said, in seconds of the monotonic clock.
    """

    samples: Pcm
    file: str | None
    start_s: float
    at: float

    def as_sound(self) -> Samples:
        """Return the sound as the recognition layer takes it."""
        sound: Samples = self.samples.astype(np.float32) / np.float32(32768)
        return sound


class Recorder:
    """Keeps what is said in files that are valid at every instant.

    All methods belong to one thread. Each file is one unbroken stretch of sound; a gap or
    a pause begins the next. The journal beside them says when each began and what is
    missing between them.
    """

    def __init__(
        self,
        folder: Path,
        options: RecorderOptions | None = None,
        *,
        occasion: Occasion | None = None,
        watcher: RecorderWatcher | None = None,
        machine: Machine | None = None,
    ) -> None:
        """Begin a session.

        Args:
            folder: the log's ``audio/``; nobody else may write to the log meanwhile.
            options: how sound is kept.
            occasion: what is known about the session.
            watcher: who wants to know.
            machine: clocks, disk and the like.

        Raises:
            DiskFull: there is no room to begin.
            StoreError: the journal can't be written.
        """
        self._folder = folder
        self._options = options or RecorderOptions()
        self._watcher = watcher or RecorderWatcher()
        self._machine = machine or Machine()
        self._clock_watch = ClockWatch(self._machine.clocks)
        self._resampler = StreamResampler(SAMPLE_RATE_HZ)
        self._quiet = QuietWatch()
        self._ends_at: float | None = None
        self._heard_while_paused: int | None = None
        self._synced_at = self._machine.clocks.monotonic()
        self._was_warned = False
        self._stopped: DiskFull | None = None
        self.free_bytes = 0
        self._check_room()
        with explained(folder.parent):
            self._files = SessionFiles(
                folder,
                occasion=occasion or Occasion(),
                watcher=self._watcher,
                machine=self._machine,
            )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def is_paused(self) -> bool:
        """Whether what is said now is kept nowhere."""
        return self._heard_while_paused is not None

    @property
    def recorded_s(self) -> float:
        """How much sound this session has kept, in seconds."""
        return self._files.total_s

    @property
    def session(self) -> Session:
        """The session that is being recorded, as the log keeps it."""
        return self._files.session

    @property
    def current_file(self) -> str | None:
        """The file that grows just now, or None."""
        return self._files.current_file

    def write(self, block: Block) -> tuple[Piece, ...]:
        """Save a block, and return it at 16 000 Hz with its place.

        When the disk is nearly full, the block is still saved, and the next one refused.

        Raises:
            DiskFull: there is no room; all before is safe and its file sealed. Whatever
                comes later is refused in the same way.
            StoreError: the disk refused the sound.
        """
        if self._stopped is not None:
            raise self._stopped
        with self._sealing_when_full():
            pieces = list(self._mind_gap(block))
            if block.sample_rate_hz != self._resampler.sample_rate_hz:
                pieces += self._flush()
                self._resampler = StreamResampler(block.sample_rate_hz)
            pieces += self._keep(self._resampler.push(block.samples), at=block.at)
            self._ends_at = block.ends_at
        # What is saved has to be heard as well, so that the next call says what is wrong here.
        with suppress(DiskFull), self._sealing_when_full():
            if self._files.current_s >= self._options.file_s:
                self._end_long_file()
            if self._is_time_to_sync():
                self._sync()
        return tuple(pieces)

    def sync(self) -> None:
        """Bring everything to the disk now, and see how much room is left there.

        ``write`` does it often enough; call it while no sound comes.

        Raises:
            DiskFull: the disk is nearly full.
        """
        with self._sealing_when_full():
            self._sync()

    def begin_new_file(self) -> None:
        """Complete the growing file; what comes next begins another."""
        with self._sealing_when_full():
            # These few ms are saved; they are heard when the file is.
            self._flush()
            self._files.seal()

    def pause(self, *, keep_to_s: float | None = None) -> None:
        """Stop keeping sound, but go on handing it out.

        Args:
            keep_to_s: forget what was saved behind this second of the current file,
                because it was said after the word to pause.
        """
        if self.is_paused:
            return
        with self._sealing_when_full():
            # What the resampler still holds was said after the word to pause.
            self._resampler.finish()
            if keep_to_s is not None:
                self._files.cut_to(keep_to_s)
            self._files.seal()
            self._files.note(Event.PAUSED)
        self._heard_while_paused = 0

    def resume(self) -> None:
        """Keep sound again, in a new file."""
        if not self.is_paused:
            return
        self._resampler.finish()
        self._heard_while_paused = None
        self._ends_at = None
        with self._sealing_when_full():
            self._files.note(Event.RESUMED)

    def close(self, *, silent_s: float = 0.0) -> None:
        """Seal the last file and end the session; harmless when that was done before.

        Args:
            silent_s: for how long no sound had come when the session was ended.
        """
        if self._stopped is None:
            with explained(self._folder.parent):
                self._flush()
                self._files.seal()
                if silent_s >= self._options.gap_s and not self.is_paused:
                    self._files.note(Event.GAP, why=NO_SOUND_CAME, lost_s=round(silent_s, 3))
                self._files.close()
        else:
            # The last words of the journal may find no room; the sound is sealed already.
            with suppress(OSError, StoreError):
                self._files.close()

    def _mind_gap(self, block: Block) -> tuple[Piece, ...]:
        """Notice what is missing before a block, write it down and make good for it."""
        lost_s, why = self._find_gap(block)
        if self._ends_at is None or self.is_paused:
            return ()
        if lost_s >= self._options.gap_s:
            pieces = self._flush()
            self._files.seal()
            self._files.note(Event.GAP, why=why, lost_s=round(lost_s, 3))
            logger.warning("Gap of %.1f s: %s", lost_s, why)
            self._watcher.gap(why, lost_s)
            return pieces
        if not block.dropped:
            return ()
        pieces = self._flush()
        self._files.note(
            Event.FILLED,
            file=self._files.current_file,
            at_s=round(self._files.current_s, 3),
            lost_s=round(lost_s, 4),
        )
        silence = np.zeros(round(lost_s * SAMPLE_RATE_HZ), dtype=np.int16)
        return (*pieces, *self._keep(silence, at=self._ends_at))

    def _find_gap(self, block: Block) -> tuple[float, str]:
        lost_s = block.dropped / block.sample_rate_hz
        why = LOST_IN_COMPUTER if block.dropped else NO_SOUND_CAME
        if self._ends_at is not None:
            late_s = block.at - self._ends_at
            # What a source counted is exact; the clock is not, but it sees what nobody counted.
            if late_s >= lost_s + self._options.gap_s:
                lost_s, why = late_s, NO_SOUND_CAME
        for jump in self._clock_watch.look():
            if jump.kind is Jump.CLOCK_SET:
                self._files.note(Event.CLOCK_SET, by_s=jump.by_s)
            else:
                lost_s, why = lost_s + jump.by_s, SLEPT
        return lost_s, why

    def _flush(self) -> tuple[Piece, ...]:
        """Keep the few ms that the resampler holds back."""
        return self._keep(self._resampler.finish(), at=self._ends_at or 0.0)

    def _keep(self, samples: Pcm, *, at: float) -> tuple[Piece, ...]:
        if not len(samples):
            return ()
        if self._heard_while_paused is not None:
            start_s = self._heard_while_paused / SAMPLE_RATE_HZ
            self._heard_while_paused += len(samples)
            return (Piece(samples=samples, file=None, start_s=start_s, at=at),)
        self._quiet.push(samples)
        file, start_s = self._files.append(samples, at=at)
        return (Piece(samples=samples, file=file, start_s=start_s, at=at),)

    def _end_long_file(self) -> None:
        if self._quiet.is_quiet or self._files.current_s >= 1.5 * self._options.file_s:
            self._files.seal()

    def _is_time_to_sync(self) -> bool:
        waited_s = self._machine.clocks.monotonic() - self._synced_at
        # After a standstill a lot of sound comes at once: that counts as well as the time.
        return max(waited_s, self._files.unsynced_s) >= self._options.sync_s

    def _sync(self) -> None:
        # Taken before the disk is waited for: what comes meanwhile belongs to the next time.
        self._synced_at = self._machine.clocks.monotonic()
        self._files.sync()
        self._check_room()

    def _check_room(self) -> None:
        self.free_bytes = self._machine.free_bytes(self._folder)
        if self.free_bytes < self._options.stop_bytes:
            raise DiskFull(
                f"Only {self.free_bytes / 1e6:.0f} MB are left on the disk of "
                f"{self._folder.parent}, so recording stopped; everything said before is "
                "safe. Make room, then begin again."
            )
        if self.free_bytes < self._options.warn_bytes and not self._was_warned:
            self._was_warned = True
            logger.warning("Disk nearly full: %d bytes left", self.free_bytes)
            self._watcher.disk_low(self.free_bytes)

    @contextmanager
    def _sealing_when_full(self) -> Iterator[None]:
        """Explain failures of the disk; when it is full, seal what there is and stop."""
        try:
            with explained(self._folder.parent):
                yield
        except DiskFull as failure:
            self._stopped = failure
            logger.warning("Recording stopped: the disk is full")
            # The last words about it may find no room, but the file is closed before them.
            with suppress(OSError, StoreError):
                self._files.seal()
            raise
