"""Rules about how far entries have come: doubtful ones, and those nobody has confirmed."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.checks.rules import Check, Evidence, Rule, count_of, name_entry
from voicelog.domain.entry import Status
from voicelog.domain.finding import Finding, Severity

ENTRY_DOUBTFUL = Rule(
    code="entry-doubtful",
    severity=Severity.WARNING,
    found="an entry is queried",
    remedy="Look at the thing itself, and correct or confirm the entry.",
)
ENTRIES_UNCONFIRMED = Rule(
    code="entries-unconfirmed",
    severity=Severity.NOTICE,
    found="entries that no reviewer confirmed",
    remedy="A reviewer confirms them.",
)


def find_in_standing(evidence: Evidence) -> Iterator[Finding]:
    """Yield every queried entry, and how many entries wait to be confirmed."""
    for volume in evidence.volumes:
        for entry in volume.entries:
            if entry.status is Status.QUERIED:
                doubts = dict.fromkeys(doubt.message for doubt in entry.doubts)
                yield ENTRY_DOUBTFUL.of_entry(
                    entry,
                    f"{name_entry(entry)} is queried: {'; '.join(doubts) or 'no reason was kept'}.",
                    about="; ".join(doubts),
                )
        heard = [one for one in volume.entries if one.status is Status.HEARD]
        if heard:
            noun = count_of(len(heard), "entry", plural="entries")
            yield ENTRIES_UNCONFIRMED.of_volume(
                volume,
                f"{noun} of {volume.name} {'is' if len(heard) == 1 else 'are'} not confirmed yet.",
            )


STANDING = Check(
    rules=(ENTRY_DOUBTFUL, ENTRIES_UNCONFIRMED), find=find_in_standing, one_by_one=True
)
