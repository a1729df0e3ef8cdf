"""Rules about the closing count: what was counted into a box, and what the log expects there.

Items travel in the same box as their volume (common practice, no published source), but
what was isolated is kept elsewhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from voicelog.checks.enclosures import enclosures_of
from voicelog.checks.log_volumes import LogVolumes
from voicelog.checks.rules import Comparison, Evidence, Rule, count_of, join_and
from voicelog.checks.volumes import VolumeKey, VolumeLog
from voicelog.domain.entry import Entry
from voicelog.domain.finding import Finding, Severity
from voicelog.extraction.closing_count import ClosingCount

COUNT_DIFFERS = Rule(
    code="count-differs",
    severity=Severity.ERROR,
    found="the closing count and the log differ in number",
    remedy="Take everything out and count it again against the list of enclosures; look on the "
    "bench and under the volume.",
)
ENCLOSURE_NOT_COUNTED = Rule(
    code="enclosure-not-counted",
    severity=Severity.ERROR,
    found="an enclosure was not mentioned in the count",
    remedy="Look for it on the bench and put it into the box; then say the closing count again.",
)
COUNTED_UNKNOWN = Rule(
    code="counted-unknown",
    severity=Severity.ERROR,
    found="something was counted that the log doesn't have in that box",
    remedy="Look at it: log what it holds, or correct the count.",
)
BOX_NOT_COUNTED = Rule(
    code="box-not-counted",
    severity=Severity.NOTICE,
    found="no closing count was said for a box",
    remedy="Say what lies in it, as in 'box one holds the volume, two folders and nine envelopes'.",
)


# Closing counts stand in the remark of a volume; which box it is in, in its enclosure.
_SAID_IN = ("remark", "enclosure")


@dataclass(kw_only=True)
class _Box:
    """What the log expects in one box."""

    volumes: list[VolumeLog] = field(default_factory=list)
    enclosures: dict[str, list[Entry]] = field(default_factory=dict)

    @property
    def kinds(self) -> Counter[str]:
        return Counter(name.rpartition(" ")[0] for name in self.enclosures)

    def holding(self, kind: str) -> list[Entry]:
        """Return what lies in the enclosures of one kind."""
        return [
            one
            for name, inside in self.enclosures.items()
            if name.rpartition(" ")[0] == kind
            for one in inside
        ]


def find_in_box_counts(volumes: LogVolumes, evidence: Evidence) -> Iterator[Finding]:
    """Yield where the closing counts and the log differ."""
    boxes = _list_boxes(volumes)
    # A count that is said again replaces the one before.
    counts = {count.box: count for count in evidence.counts}
    elsewhere = _find_elsewhere(volumes, boxes, counts)
    for name, count in counts.items():
        if name not in boxes:
            yield COUNTED_UNKNOWN.of_log(
                f"{name.capitalize()} was counted, and no volume is in it by the log.", about=name
            )
            continue
        yield from _compare(count, _open(volumes, boxes[name]), elsewhere)
    for name, keys in boxes.items():
        if name not in counts:
            yield BOX_NOT_COUNTED.of_volume(
                volumes.outline(keys[0]), f"No closing count was said for {name}.", about=name
            )


def _list_boxes(volumes: LogVolumes) -> dict[str, list[VolumeKey]]:
    boxes: dict[str, list[VolumeKey]] = {}
    for volume in map(volumes.outline, volumes.list_keys()):
        place = volume.entry.enclosure if volume.entry is not None else None
        if place is not None and place.startswith("box "):
            boxes.setdefault(place, []).append(volume.key)
    return boxes


def _open(volumes: LogVolumes, keys: Iterable[VolumeKey]) -> _Box:
    """Return what the log expects in the box of some volumes."""
    box = _Box()
    for volume in map(volumes.outline, keys):
        box.volumes.append(volume)
        for name, inside in enclosures_of(volume).items():
            if not all("isolated" in one.action for one in inside):
                box.enclosures.setdefault(name, []).extend(inside)
    return box


def _find_elsewhere(
    volumes: LogVolumes,
    boxes: Mapping[str, Sequence[VolumeKey]],
    counts: Mapping[str, ClosingCount],
) -> dict[str, list[str]]:
    """Return which volumes have things in the enclosures that were counted into a wrong box."""
    wrong = {
        name
        for box, count in counts.items()
        if box in boxes and count.named
        for name in set(count.named).difference(_open(volumes, boxes[box]).enclosures)
    }
    elsewhere: dict[str, list[str]] = {}
    for volume in map(volumes.outline, volumes.list_keys() if wrong else ()):
        for name in wrong.intersection(enclosures_of(volume)):
            elsewhere.setdefault(name, []).append(volume.name)
    return elsewhere


def _compare(
    count: ClosingCount, box: _Box, elsewhere: Mapping[str, Sequence[str]]
) -> Iterator[Finding]:
    first = box.volumes[0]
    yield from _compare_volumes(count, box)
    for name in count.named:
        if name not in box.enclosures:
            holders = elsewhere.get(name)
            where = f"only in {join_and(holders)}" if holders else "not there at all"
            yield COUNTED_UNKNOWN.of_volume(
                first,
                f"{name.capitalize()} was counted into {count.box}, and by the log it is {where}.",
                about=f"{count.box},{name}",
                fields=_SAID_IN,
            )
    for name, inside in box.enclosures.items():
        if name not in count.named and name.rpartition(" ")[0] not in count.counted:
            yield ENCLOSURE_NOT_COUNTED.of_entries(
                inside,
                f"{name.capitalize()} was not among what was counted into {count.box}.",
                about=count.box,
            )
    named = Counter(name.rpartition(" ")[0] for name in count.named)
    for kind, number in count.counted.items():
        said, expected = number + named[kind], box.kinds[kind]
        if said != expected:
            yield COUNT_DIFFERS.of_volume(
                first,
                f"{count_of(said, kind)} {'was' if said == 1 else 'were'} counted into "
                f"{count.box}; the log expects {expected}{_list_enclosures(box, kind)}.",
                about=f"{count.box},{kind},{said},{expected}",
                behind=box.holding(kind),
                fields=_SAID_IN,
            )


def _compare_volumes(count: ClosingCount, box: _Box) -> Iterator[Finding]:
    numbers = {volume.key.volume for volume in box.volumes}
    for number in count.named_volumes:
        if number not in numbers:
            yield COUNTED_UNKNOWN.of_volume(
                box.volumes[0],
                f"Volume {number} was counted into {count.box}, and by the log it is not in it.",
                about=f"{count.box},volume {number}",
                fields=_SAID_IN,
            )
    known = sum(number in numbers for number in count.named_volumes)
    said = known + (count.volumes or 0)
    if said != len(box.volumes):
        yield COUNT_DIFFERS.of_volume(
            box.volumes[0],
            f"{count_of(said, 'volume')} {'was' if said == 1 else 'were'} counted into "
            f"{count.box}; the log expects {join_and(one.name for one in box.volumes)}.",
            about=f"{count.box},volume,{said},{len(box.volumes)}",
            fields=_SAID_IN,
        )


def _list_enclosures(box: _Box, kind: str) -> str:
    names = [name for name in box.enclosures if name.rpartition(" ")[0] == kind]
    if not names:
        return ""
    numbers = sorted((name.rpartition(" ")[2] for name in names), key=_number_order)
    return f" ({kind} {', '.join(numbers)})"


def _number_order(text: str) -> tuple[int, str]:
    return (int(text), "") if text.isdecimal() else (0, text)


BOX_COUNTS = Comparison(
    rules=(COUNT_DIFFERS, ENCLOSURE_NOT_COUNTED, COUNTED_UNKNOWN, BOX_NOT_COUNTED),
    find=find_in_box_counts,
)
