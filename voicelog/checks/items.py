"""Rules about single items: where they are, what they carry, what was done with them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib import resources

from voicelog.checks.rules import Check, Evidence, Rule, name_entry
from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Adhesion, Entry, RelationKind
from voicelog.domain.finding import Finding, Severity

LOOSE_WITHOUT_DESTINATION = Rule(
    code="loose-without-destination",
    severity=Severity.WARNING,
    found="a loose thing was neither enclosed nor left in place",
    remedy="Look where it is now, and say what it goes into, or that it was left in place.",
)
DETACHED_NOT_INSCRIBED = Rule(
    code="detached-not-inscribed",
    severity=Severity.WARNING,
    found="a thing came off and its back has no number; where pencil may harm (film, "
    "metal, textiles, flaking media), its enclosure has none",
    remedy="Write its mark lightly in soft pencil on the back where that does no harm, and say "
    "so; else number the enclosure. Follow local practice.",
)
DISCARDED_UNNAMED = Rule(
    code="discarded-unnamed",
    severity=Severity.WARNING,
    found="nothing says what was discarded",
    remedy="Say in a remark what was discarded: failed tape, an empty carrier, a rusted pin.",
)
MISSING_BUT_PRESENT = Rule(
    code="missing-but-present",
    severity=Severity.ERROR,
    found="a thing that is gone is also held, enclosed or numbered",
    remedy="Strike or correct either: a thing that is gone is neither held, nor enclosed.",
)
MARK_TWICE = Rule(
    code="mark-twice",
    severity=Severity.ERROR,
    found="two things carry one mark",
    remedy="Look at both items and their enclosures; a mark that is written stays, so give the "
    "other one another.",
)

_DESTINATIONS = frozenset({"enclosed", "left in place", "discarded", "isolated", "boxed"})
_TRAVELS_WITH = frozenset(
    {RelationKind.INSIDE, RelationKind.ATTACHED_TO, RelationKind.BELONGS_WITH}
)
_DONE_TO_THINGS_THERE = frozenset({"detached", "enclosed", "inscribed", "isolated", "interleaved"})


def find_in_items(evidence: Evidence) -> Iterator[Finding]:
    """Yield what is wrong with single items of each volume."""
    sensitive = load_sensitive()
    for volume in evidence.volumes:
        by_id = {one.id: one for one in volume.entries}
        for entry in volume.items:
            yield from _find_missing_but_present(entry)
            yield from _find_loose(entry, by_id)
            yield from _find_uninscribed(entry, sensitive)
        for entry in volume.entries:
            if "discarded" in entry.action and not entry.remark:
                yield DISCARDED_UNNAMED.of_entry(
                    entry, "Something was discarded here, and nothing says what."
                )
        yield from _find_equal_marks(volume)


def load_sensitive() -> frozenset[str]:
    """Return the item types and conditions on which nobody should write."""
    text = (resources.files("voicelog.checks") / "sensitive.toml").read_text(encoding="utf-8")
    lists = tomllib.loads(text)
    return frozenset(lists["item_type"]) | frozenset(lists["condition"])


def is_missing(entry: Entry) -> bool:
    """Whether an item was said to be gone."""
    return "missing item" in entry.condition


def is_loose(entry: Entry) -> bool:
    """Whether an item is held by nothing: it came off, fell out, or was only laid in."""
    return (
        entry.adhesion is Adhesion.LOOSE
        or "detached" in entry.action
        or "laid in" in entry.attachment
    )


def _find_missing_but_present(entry: Entry) -> Iterator[Finding]:
    if not is_missing(entry):
        return
    done = [action for action in entry.action if action in _DONE_TO_THINGS_THERE]
    said = [*filter(None, [entry.adhesion, entry.enclosure]), *done]
    if said:
        yield MISSING_BUT_PRESENT.of_entry(
            entry,
            f"{name_entry(entry)} was said to be missing, and also: {', '.join(said)}.",
            about=",".join(said),
        )


def _find_loose(entry: Entry, by_id: dict[str, Entry]) -> Iterator[Finding]:
    if not is_loose(entry) or is_missing(entry) or _has_destination(entry):
        return
    companions = [
        by_id[tie.id] for tie in entry.relations if tie.kind in _TRAVELS_WITH and tie.id in by_id
    ]
    if any(_has_destination(one) for one in companions):
        return
    yield LOOSE_WITHOUT_DESTINATION.of_entry(
        entry, f"{name_entry(entry)} is loose, and nothing says where it went."
    )


def _has_destination(entry: Entry) -> bool:
    return entry.enclosure is not None or not _DESTINATIONS.isdisjoint(entry.action)


def _find_uninscribed(entry: Entry, sensitive: frozenset[str]) -> Iterator[Finding]:
    if "detached" not in entry.action or "inscribed" in entry.action or is_missing(entry):
        return
    if "discarded" in entry.action:
        return
    harmed = sensitive.intersection((*entry.item_type, *entry.condition))
    if not harmed:
        yield DETACHED_NOT_INSCRIBED.of_entry(
            entry, f"{name_entry(entry)} came off, and nothing says that its back was numbered."
        )
    elif entry.enclosure is None:
        yield DETACHED_NOT_INSCRIBED.of_entry(
            entry,
            f"{name_entry(entry)} came off and should not be written on "
            f"({', '.join(sorted(harmed))}), and no enclosure carries its number.",
        )


def _find_equal_marks(volume: VolumeLog) -> Iterator[Finding]:
    bearing: dict[str, list[Entry]] = {}
    for entry in volume.items:
        if entry.mark is not None:
            bearing.setdefault(entry.mark, []).append(entry)
    for mark, entries in bearing.items():
        if len(entries) > 1:
            yield MARK_TWICE.of_entries(
                entries, f"The mark {mark} was given to {len(entries)} items.", about=mark
            )


ITEMS = Check(
    rules=(
        LOOSE_WITHOUT_DESTINATION,
        DETACHED_NOT_INSCRIBED,
        DISCARDED_UNNAMED,
        MISSING_BUT_PRESENT,
        MARK_TWICE,
    ),
    find=find_in_items,
    one_by_one=True,
)
