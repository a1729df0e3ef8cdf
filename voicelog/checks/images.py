"""Rules about the image sequence: covers, every side, blank ones too, each number once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from voicelog.checks.rules import Check, Evidence, Rule, count_of, join_and
from voicelog.checks.sequence import describe_runs, find_imaged_by, find_views, is_leaf
from voicelog.checks.volumes import VolumeLog, describe_place
from voicelog.domain.entry import Entry, Kind, RelationKind
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.place import (
    BACK_COVER,
    BACK_FLYLEAF,
    FLYLEAF,
    FRONT_COVER,
    INSIDE_BACK_COVER,
    INSIDE_FRONT_COVER,
    Place,
)

VOLUME_NOT_IMAGED = Rule(
    code="volume-not-imaged",
    severity=Severity.WARNING,
    found="no image number, no scan",
    remedy="Image every side as it is, covers first, blank pages too; or say that it was imaged.",
)
SIDE_NOT_IMAGED = Rule(
    code="side-not-imaged",
    severity=Severity.WARNING,
    found="a cover or side has neither image number nor scan",
    remedy="Look whether it was imaged: say the image number, or image it before the lid closes.",
)
IMAGE_NUMBER_MISSING = Rule(
    code="image-number-missing",
    severity=Severity.WARNING,
    found="a number between others is named nowhere",
    remedy="Look what these images show and say their numbers there, or that they were discarded.",
)
IMAGE_NUMBER_TWICE = Rule(
    code="image-number-twice",
    severity=Severity.ERROR,
    found="one number for two views",
    remedy="Look at the image, and correct the number of the side that it doesn't show.",
)
IMAGE_COUNT = Rule(
    code="image-count",
    severity=Severity.WARNING,
    found="more or fewer images than covers, sides, fold-outs and lifted layers",
    remedy="Go through the images in order beside the volume until they part.",
)

Views = tuple[tuple[Place, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Imaging:
    """How one volume was imaged.

    Attributes:
        volume: the volume.
        views: what its images should show.
        numbers: the places at which each image number was said.
        imaged: every place with a number, with the action "imaged", or with a scan.
        present: how many images there are of covers and sides: files where there are any,
            else numbers. What was found loose between leaves may have images of its own.
        has_files: whether that is the number of files.
    """

    volume: VolumeLog
    views: Views
    numbers: dict[int, list[Entry]]
    imaged: frozenset[Place]
    present: int
    has_files: bool


def find_in_images(evidence: Evidence) -> Iterator[Finding]:
    """Yield what the images of each volume lack."""
    for volume in evidence.volumes:
        if volume.key.volume is None:
            continue
        imaging = _look_at(volume, evidence)
        if imaging.imaged or imaging.present:
            yield from _find_sides(imaging)
            yield from _find_gaps(imaging, _numbers_on_disk(volume, evidence))
            yield from _find_repeats(imaging)
            yield from _find_count(imaging)
        elif volume.entry is None or "imaged" not in volume.entry.action:
            yield VOLUME_NOT_IMAGED.of_volume(
                volume, f"Nothing says that {volume.name} was imaged: no image number, no scan."
            )


def extra_views(volume: VolumeLog) -> dict[Place, int]:
    """Return how many further images the sides of a volume need.

    One for each fold-out (opened out), one for each layer that was lifted: an item under
    or behind another shows only then (common practice, no published source).
    """
    extra: dict[Place, int] = {}
    lifted: set[str] = set()
    for entry in volume.entries:
        if entry.leaf is None or entry.kind is Kind.VOLUME:
            continue
        place = Place(leaf=entry.leaf, side=entry.side)
        if _is_fold_out(entry):
            extra[place] = extra.get(place, 0) + 1
        for tie in entry.relations:
            if tie.kind in {RelationKind.UNDER, RelationKind.BEHIND} and tie.id not in lifted:
                lifted.add(tie.id)
                extra[place] = extra.get(place, 0) + 1
    return extra


def _is_fold_out(entry: Entry) -> bool:
    words = (entry.remark or "").lower().replace("-", " ")
    return "fold out" in words or "foldout" in words


def _look_at(volume: VolumeLog, evidence: Evidence) -> _Imaging:
    views = find_views(volume, find_imaged_by(volume, evidence.imaged_by))
    numbers: dict[int, list[Entry]] = {}
    imaged: set[Place] = set()
    for entry in volume.entries:
        if entry.leaf is None:
            continue
        for number in entry.images:
            numbers.setdefault(number, []).append(entry)
        if entry.images or (entry.kind is Kind.LEAF and "imaged" in entry.action):
            imaged.add(Place(leaf=entry.leaf, side=entry.side))
    found = evidence.scans.scan_set.of_volume(volume.key) if evidence.scans is not None else ()
    imaged |= {place for scan in found for place in scan.places}
    files = [scan for scan in found if not any(place.is_insert for place in scan.places)]
    of_sides = [number for number, said in numbers.items() if not all(map(_is_insert, said))]
    return _Imaging(
        volume=volume,
        views=views,
        numbers=numbers,
        imaged=frozenset(imaged),
        present=len(files) or len(of_sides),
        has_files=bool(files),
    )


def _is_insert(entry: Entry) -> bool:
    return Place(leaf=entry.leaf or "").is_insert


def _numbers_on_disk(volume: VolumeLog, evidence: Evidence) -> set[int]:
    if evidence.scans is None:
        return set()
    files = evidence.scans.scan_set.of_volume(volume.key)
    return {scan.number for scan in files if scan.number is not None}


def _find_sides(imaging: _Imaging) -> Iterator[Finding]:
    order = [place for view in imaging.views for place in view]
    missing = {
        place
        for view in imaging.views
        if not any(_is_imaged(place, imaging.imaged) for place in view)
        for place in view
    }
    for run in describe_runs(missing, order):
        first, last = describe_place(run[0]), describe_place(run[-1])
        which = {1: f"{first} has", 2: f"{first} and {last} have"}.get(
            len(run), f"{first} to {last} ({len(run)} sides) have"
        )
        yield SIDE_NOT_IMAGED.of_place(
            imaging.volume,
            run[0],
            f"{which[0].upper()}{which[1:]} no image.",
            about=f"{first}-{last}",
        )


def _is_imaged(place: Place, imaged: frozenset[Place]) -> bool:
    # An image number said of a whole leaf is taken to be one of both sides.
    return place in imaged or Place(leaf=place.leaf) in imaged


def _find_gaps(imaging: _Imaging, on_disk: set[int]) -> Iterator[Finding]:
    used = sorted(imaging.numbers.keys() | on_disk)
    for before, after in pairwise(used):
        if after == before + 1:
            continue
        first, last = before + 1, after - 1
        between = "and" if last == first + 1 else "to"
        which = f"Image {first} is" if first == last else f"Images {first} {between} {last} are"
        behind = [*imaging.numbers.get(before, ()), *imaging.numbers.get(after, ())]
        yield IMAGE_NUMBER_MISSING.of_volume(
            imaging.volume,
            f"{which} named nowhere, while {before} and {after} are.",
            about=f"{first}-{last}",
            behind=behind,
        )


def _find_repeats(imaging: _Imaging) -> Iterator[Finding]:
    view_of = {place: view for view in imaging.views for place in view}
    for number, entries in sorted(imaging.numbers.items()):
        places = list(
            dict.fromkeys(Place(leaf=one.leaf, side=one.side) for one in entries if one.leaf)
        )
        # Said of a whole leaf, it may be the image of either side.
        sides = [place for place in places if place.side or not place.has_sides]
        leaves = {place.leaf for place in places} - {side.leaf for side in sides}
        if len({view_of.get(side, side) for side in sides} | leaves) > 1:
            yield IMAGE_NUMBER_TWICE.of_entries(
                entries,
                f"Image {number} was said to show {join_and(map(describe_place, places))}.",
                about=str(number),
            )


def _find_count(imaging: _Imaging) -> Iterator[Finding]:
    extra = sum(extra_views(imaging.volume).values())
    expected = len(imaging.views) + extra
    if imaging.present == expected:
        return
    what = "on disk" if imaging.has_files else "numbered"
    said = count_of(expected, "image")
    yield IMAGE_COUNT.of_volume(
        imaging.volume,
        f"{said} {'is' if expected == 1 else 'are'} expected "
        f"({_describe_expected(imaging.views, extra)}), {imaging.present} "
        f"{'is' if imaging.present == 1 else 'are'} {what}.",
        about=f"{expected},{imaging.present}",
        fields=("leaves",),
    )


def _describe_expected(views: Views, extra: int) -> str:
    if any(len(view) > 1 for view in views):
        openings = sum(len(view) > 1 for view in views)
        parts = [
            count_of(openings, "opening"),
            f"{len(views) - openings} seen closed: covers, spine, pocket",
        ]
    else:
        leaves = [view[0].leaf for view in views]
        parts = [
            count_of(_among(leaves, (FRONT_COVER, BACK_COVER)), "cover"),
            count_of(_among(leaves, (INSIDE_FRONT_COVER, INSIDE_BACK_COVER)), "inside cover"),
            count_of(sum(map(is_leaf, leaves)), "side") + " of leaves",
        ]
        if flyleaves := _among(leaves, (FLYLEAF, BACK_FLYLEAF)):
            parts.insert(2, count_of(flyleaves, "side") + " of flyleaves")
        parts += [leaf for leaf in ("spine", "pocket") if leaf in leaves]
    if extra:
        parts.append(f"{extra} more for fold-outs and lifted layers")
    return ", ".join(parts)


def _among(leaves: Iterable[str], wanted: tuple[str, ...]) -> int:
    return sum(leaf in wanted for leaf in leaves)


IMAGES = Check(
    rules=(
        VOLUME_NOT_IMAGED,
        SIDE_NOT_IMAGED,
        IMAGE_NUMBER_MISSING,
        IMAGE_NUMBER_TWICE,
        IMAGE_COUNT,
    ),
    find=find_in_images,
    one_by_one=True,
)
