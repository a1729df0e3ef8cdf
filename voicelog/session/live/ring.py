"""A ring between the sound card's thread and ours; nobody ever waits for the other."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


class Ring:
    """Room for a fixed number of frames, made once; one thread puts, one takes.

    The counters only ever grow, each is written by one thread alone, and a frame is
    counted after it was copied: so no lock is needed.
    """

    def __init__(self, capacity: int, *, channels: int) -> None:
        self._frames = np.zeros((capacity, channels), dtype=np.int16)
        self._put = 0
        self._taken = 0
        self._dropped = 0
        self._dropped_at = 0
        self._dropped_seen = 0

    @property
    def available(self) -> int:
        """How many frames wait to be taken."""
        return self._put - self._taken

    def put(self, frames: npt.NDArray[np.int16]) -> None:
        """Copy frames in; where there is no room, count them as dropped."""
        count, capacity = len(frames), len(self._frames)
        if count > capacity - self.available:
            self._dropped_at = self._put
            self._dropped += count
            return
        start = self._put % capacity
        before_end = min(count, capacity - start)
        self._frames[start : start + before_end] = frames[:before_end]
        self._frames[: count - before_end] = frames[before_end:]
        self._put += count

    def take(self) -> tuple[npt.NDArray[np.int16], int]:
        """Return the waiting frames, shape (n, channels), and how many were dropped before them.

        Frames on both sides of a drop are never returned together.
        """
        capacity, end, dropped = len(self._frames), self._put, 0
        if self._dropped != self._dropped_seen:
            if self._dropped_at > self._taken:
                end = min(end, self._dropped_at)
            else:
                dropped = self._dropped - self._dropped_seen
                self._dropped_seen += dropped
        indices = np.arange(self._taken, end) % capacity
        frames: npt.NDArray[np.int16] = self._frames[indices]
        self._taken = end
        return frames, dropped
