"""Findings: what a closing check says about a log.

A finding is data, never an exception: the log can be read, and something in it needs a
person. Its code is permanent; ``voicelog reference findings`` lists all of them.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from voicelog.domain.entry import Side
from voicelog.domain.place import Place

_ID_LENGTH = 8


class Severity(StrEnum):
    """How much a finding matters before the lid closes."""

    ERROR = "error"
    WARNING = "warning"
    NOTICE = "notice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that a person should look at.

    Attributes:
        code: what kind of finding it is; permanent.
        severity: how much it matters.
        message: what is wrong, in one or two sentences.
        remedy: what to do, in one sentence.
        accession: the accession number, or None where it concerns no single one.
        volume: the volume as entries name it, or None where it concerns no single one.
        leaf: the leaf, or None where it concerns the whole volume.
        side: the side, or None.
        entry: id of the entry it is about, or None.
        notes: numbers of the notes behind it, ascending.
        about: what it was found on, where code, place and entry don't say it all: the
            missing numbers, the count. Never worded for people.
        accepted: why somebody accepted it, or None.
    """

    code: str
    severity: Severity
    message: str
    remedy: str
    accession: str | None = None
    volume: str | None = None
    leaf: str | None = None
    side: Side | None = None
    entry: str | None = None
    notes: tuple[int, ...] = ()
    about: str = ""
    accepted: str | None = None

    @property
    def id(self) -> str:
        """Identity of the finding: the same facts give the same id in every later check.

        It hangs on what was found and where, not on the wording, so that an acceptance
        outlives a reworded message and ends when the facts change.
        """
        facts = (self.code, self.accession, self.volume, self.leaf, self.side, self.entry)
        text = "\x1f".join([*(str(fact or "") for fact in facts), self.about])
        return hashlib.sha256(text.encode()).hexdigest()[:_ID_LENGTH]

    @property
    def place(self) -> Place | None:
        """Where it was found, or None where it concerns the whole volume."""
        return None if self.leaf is None else Place(leaf=self.leaf, side=self.side)

    @property
    def is_open(self) -> bool:
        """Whether it keeps the lid from closing: an error or warning that nobody accepted."""
        return self.accepted is None and self.severity is not Severity.NOTICE


def format_finding_record(finding: Finding, *, number: int | None) -> dict[str, Any]:
    """Return the finding as the JSON-ready record of the interface contract.

    Args:
        finding: the finding.
        number: the display number of the entry it is about, or None.
    """
    return {
        "finding": finding.code,
        "severity": str(finding.severity),
        "entry": number,
        "accession": finding.accession,
        "volume": finding.volume,
        "leaf": finding.leaf,
        "side": None if finding.side is None else str(finding.side),
        "message": finding.message,
        "remedy": finding.remedy,
        "accepted": finding.accepted,
        "id": finding.id,
        "notes": list(finding.notes),
    }
