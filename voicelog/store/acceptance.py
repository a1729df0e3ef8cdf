"""Findings that somebody accepted, as the log remembers them: which, why, who and when."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """One finding that was accepted, or whose acceptance was taken back.

    Attributes:
        finding: the finding's id; the same facts have the same id in every later check.
        code: the finding's code.
        message: what the finding said at that time.
        reason: why it was accepted; None where the acceptance was taken back.
        by: who did it.
        at: wall clock, ISO 8601 with zone.
    """

    finding: str
    code: str
    message: str
    reason: str | None
    by: str
    at: str
