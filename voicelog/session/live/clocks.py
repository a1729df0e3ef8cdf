"""The three clocks of a bench: steady, true and awake; together they tell jumps from sleep."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum


def _wall() -> datetime:
    return datetime.now(UTC).astimezone()


def _boot() -> float:
    # clock_gettime(2): like the monotonic clock, but it goes on while the machine sleeps.
    return time.clock_gettime(time.CLOCK_BOOTTIME)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clocks:
    """Where the time comes from.

    Attributes:
        monotonic: seconds that never jump and stand still while the machine sleeps.
        boot: seconds that never jump and go on while it sleeps.
        wall: date and time with zone, which somebody may set.
    """

    monotonic: Callable[[], float] = time.monotonic
    boot: Callable[[], float] = _boot
    wall: Callable[[], datetime] = _wall


class Jump(StrEnum):
    """What made the clocks part."""

    ASLEEP = "asleep"
    CLOCK_SET = "clock set"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockJump:
    """One moment at which the clocks parted.

    Attributes:
        kind: whether the machine slept or its clock was set.
        by_s: for how long it slept; or how far its clock was set, forwards if positive.
    """

    kind: Jump
    by_s: float


class ClockWatch:
    """Notices that the machine slept or that its clock was set."""

    def __init__(self, clocks: Clocks, *, tolerance_s: float = 1.0) -> None:
        """Begin to watch.

        Args:
            clocks: the clocks.
            tolerance_s: a clock that is gently brought right parts by less than this
                between two looks.
        """
        self._clocks = clocks
        self._tolerance_s = tolerance_s
        self._slept_s, self._set_s = self._look()

    def look(self) -> tuple[ClockJump, ...]:
        """Return what happened since the last look, usually nothing."""
        slept_s, set_s = self._look()
        jumps = []
        if slept_s - self._slept_s > self._tolerance_s:
            jumps.append(ClockJump(kind=Jump.ASLEEP, by_s=round(slept_s - self._slept_s, 3)))
        if abs(set_s - self._set_s) > self._tolerance_s:
            jumps.append(ClockJump(kind=Jump.CLOCK_SET, by_s=round(set_s - self._set_s, 3)))
        self._slept_s, self._set_s = slept_s, set_s
        return tuple(jumps)

    def _look(self) -> tuple[float, float]:
        boot = self._clocks.boot()
        return boot - self._clocks.monotonic(), self._clocks.wall().timestamp() - boot
