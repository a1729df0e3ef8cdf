"""Rules about the sequence of leaves and sides: nobody may wonder later what was skipped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from voicelog.checks.rules import Check, Evidence, Rule, join_and
from voicelog.checks.sequence import both_sides, describe_runs, find_leaves
from voicelog.checks.volumes import VolumeLog, describe_place
from voicelog.domain.entry import Entry, Kind
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.place import BACK_FLYLEAF, FLYLEAF, Place

_LISTED = 8

LEAF_NOT_LOGGED = Rule(
    code="leaf-not-logged",
    severity=Severity.WARNING,
    found="a leaf in the sequence is not in the log",
    remedy="Look at it again: log what is there, or say that it is blank.",
)
SIDE_NOT_LOGGED = Rule(
    code="side-not-logged",
    severity=Severity.NOTICE,
    found="nothing was said of a side, not even that it is blank",
    remedy="Where nothing is on them, say that they are blank; else log what is there.",
)
LEAF_BEYOND_COUNT = Rule(
    code="leaf-beyond-count",
    severity=Severity.ERROR,
    found="a leaf has a higher number than there are leaves",
    remedy="Count the leaves again, and correct the number of leaves or the leaf.",
)
LEAF_REPEATED = Rule(
    code="leaf-repeated",
    severity=Severity.WARNING,
    found="a leaf was begun again after another one",
    remedy="Make sure that both parts are of the same leaf; else correct the leaf of one.",
)
BLANK_CONTRADICTED = Rule(
    code="blank-contradicted",
    severity=Severity.ERROR,
    found="something is logged on a side that was said to be blank",
    remedy="Look at it again, and strike or correct whichever is wrong.",
)


def find_in_leaves(evidence: Evidence) -> Iterator[Finding]:
    """Yield what is wrong with the sequence of leaves of each volume."""
    for volume in evidence.volumes:
        yield from _find_gaps(volume)
        yield from _find_silent_sides(volume)
        yield from _find_beyond(volume)
        yield from _find_repeats(volume)
        yield from _find_contradicted_blanks(volume)


def _find_gaps(volume: VolumeLog) -> Iterator[Finding]:
    labels = find_leaves(volume).labels
    named = {place.leaf for place in volume.places}
    order = [Place(leaf=label) for label in labels]
    for run in describe_runs((place for place in order if place.leaf not in named), order):
        first, last = run[0].leaf, run[-1].leaf
        between = "and" if len(run) == 2 else "to"
        which = f"Leaf {first} is" if first == last else f"Leaves {first} {between} {last} are"
        yield LEAF_NOT_LOGGED.of_place(
            volume, run[0], f"{which} not in the log.", about=f"{first}-{last}"
        )


def _find_silent_sides(volume: VolumeLog) -> Iterator[Finding]:
    named = {place.leaf for place in volume.places}
    leaves = [*find_leaves(volume).labels, FLYLEAF, BACK_FLYLEAF]
    sides = [side for leaf in leaves if leaf in named for side in both_sides(leaf)]
    silent = [side for side in sides if not any(volume.at(side))]
    if silent:
        by_leaf = _list_places(silent)
        more = len(by_leaf) - _LISTED
        said = join_and([*by_leaf[:_LISTED], *([f"{more} more"] if more > 0 else [])])
        yield SIDE_NOT_LOGGED.of_volume(
            volume, f"Nothing was said of {said}.", about=",".join(by_leaf)
        )


def _find_beyond(volume: VolumeLog) -> Iterator[Finding]:
    entry = volume.entry
    if entry is None or entry.leaves is None:
        return
    for label in find_leaves(volume).beyond:
        yield LEAF_BEYOND_COUNT.of_place(
            volume,
            Place(leaf=label),
            f"Leaf {label} is in the log, but the volume was said to have {entry.leaves} leaves.",
            about=str(entry.leaves),
        )


def _find_repeats(volume: VolumeLog) -> Iterator[Finding]:
    """Find leaves on which things were begun again after another leaf had been described."""
    begun = sorted(
        (one for one in volume.entries if one.leaf is not None and (one.blank or _is_item(one))),
        key=_first_note,
    )
    last_on: dict[str, Entry] = {}
    previous: Entry | None = None
    for entry in begun:
        leaf = entry.leaf or ""
        before = last_on.get(leaf)
        if before is not None and previous is not None and previous.leaf != leaf:
            yield LEAF_REPEATED.of_entries(
                [entry, before],
                f"{describe_place(Place(leaf=leaf)).capitalize()} was described in two goes, with "
                f"{describe_place(Place(leaf=previous.leaf or ''))} in between.",
                about=previous.leaf or "",
            )
        last_on[leaf] = previous = entry


def _find_contradicted_blanks(volume: VolumeLog) -> Iterator[Finding]:
    for blank in volume.entries:
        if not blank.blank or blank.leaf is None:
            continue
        place = Place(leaf=blank.leaf, side=blank.side)
        there = [
            one for one in volume.at(place) if _is_item(one) and "missing item" not in one.condition
        ]
        if there:
            what = f"item {there[0].item} ({', '.join(there[0].item_type) or 'of no type'})"
            more = f" and {len(there) - 1} more" if len(there) > 1 else ""
            yield BLANK_CONTRADICTED.of_entries(
                [blank, *there],
                f"{describe_place(place).capitalize()} was said to be blank, but "
                f"{what}{more} is logged on it.",
                about=",".join(one.id for one in there),
            )


def _is_item(entry: Entry) -> bool:
    return entry.kind is Kind.ITEM


def _first_note(entry: Entry) -> int:
    return min(entry.notes, default=0)


def _list_places(places: Iterable[Place]) -> list[str]:
    """Return sides as people list them: "leaf 1 verso", "both sides of leaf 3"."""
    by_leaf: dict[str, list[Place]] = {}
    for place in places:
        by_leaf.setdefault(place.leaf, []).append(place)
    return [_list_leaf(sides) for sides in by_leaf.values()]


def _list_leaf(sides: Sequence[Place]) -> str:
    if len(sides) == 1:
        return describe_place(sides[0])
    return f"both sides of {describe_place(Place(leaf=sides[0].leaf))}"


LEAVES = Check(
    rules=(
        LEAF_NOT_LOGGED,
        SIDE_NOT_LOGGED,
        LEAF_BEYOND_COUNT,
        LEAF_REPEATED,
        BLANK_CONTRADICTED,
    ),
    find=find_in_leaves,
    one_by_one=True,
)
