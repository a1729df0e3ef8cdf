"""A check: photographs of which nobody said what is written on them."""

from voicelog.checks.rules import Check, Rule, name_entry
from voicelog.domain.finding import Severity

UNCAPTIONED = Rule(
    code="photograph-without-caption",
    severity=Severity.NOTICE,
    found="nobody said what is written on a photograph",
    remedy="Look beside it and on its back, and say what is written there.",
)


def find_uncaptioned(evidence):
    for volume in evidence.volumes:
        for entry in volume.items:
            if "photograph" in entry.item_type and not entry.caption:
                yield UNCAPTIONED.of_entry(entry, f"{name_entry(entry)} has no caption.")


CAPTIONS = Check(rules=(UNCAPTIONED,), find=find_uncaptioned, one_by_one=True)
