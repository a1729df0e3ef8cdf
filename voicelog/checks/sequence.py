"""What a volume consists of, side by side, and how its images follow each other.

A volume is imaged covers first, then every page in order, blank ones too (common
practice, no published source). Page by page, every side has an image of its own; by
openings, the two facing pages share one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Side
from voicelog.domain.place import (
    BACK_COVER,
    BACK_FLYLEAF,
    FLYLEAF,
    FRONT_COVER,
    INSIDE_BACK_COVER,
    INSIDE_FRONT_COVER,
    POCKET,
    SPINE,
    Place,
    place_order,
)

_LEAF = re.compile(r"(\d+)([A-Z]?)")
_IMAGED_BY = re.compile(
    r"\b(?:imaged|scanned|photographed|filmed)\b[ ,]*"
    r"(?:(?P<openings>(?:by|as|in) (?:the )?(?:openings?|spreads?|double pages))"
    r"|(?P<pages>(?:by|in) (?:the )?(?:single )?pages?\b|page by page))",
    re.IGNORECASE,
)
# A number that runs away (leaf 40000 misheard for 40) must not fill the memory.
_MOST_LEAVES = 2000


class ImagedBy(StrEnum):
    """What one image of a volume shows."""

    PAGES = "pages"
    OPENINGS = "openings"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeafRange:
    """The leaves of a volume, as far as the log tells.

    Attributes:
        labels: every leaf that should be there, in order: "1", "2", ..., "7", "7A", "8".
        beyond: leaves named with a higher number than the volume was said to have.
    """

    labels: tuple[str, ...]
    beyond: tuple[str, ...]


def find_leaves(volume: VolumeLog) -> LeafRange:
    """Return which leaves a volume should have.

    They run from 1 to the number of leaves that was said, or to the highest leaf named.
    Lettered leaves are there where they are named, and 7B calls for a 7A. Leaves are
    counted as they lie: 24 leaves with a 7A among them end with leaf 23, unless a leaf 24
    is named.
    """
    named = {label for label in (one.leaf for one in volume.entries if one.leaf) if is_leaf(label)}
    named |= {label for one in volume.entries for label in _leaves_of_insert(one.leaf)}
    lettered = {label for one in named for label in _letters_up_to(one)}
    said = volume.entry.leaves if volume.entry is not None else None
    numbers = [_number(label) for label in named if said is None or _number(label) <= said]
    last = max(numbers, default=0)
    if said is not None:
        last = max(last, said - len(lettered))
    last = min(last, _MOST_LEAVES)
    labels = {str(number) for number in range(1, last + 1)}
    labels |= {label for label in lettered if _number(label) <= last}
    beyond = () if said is None else (label for label in named if _number(label) > said)
    return LeafRange(
        labels=tuple(sorted(labels, key=leaf_order)),
        beyond=tuple(sorted(beyond, key=leaf_order)),
    )


def find_sides(volume: VolumeLog) -> tuple[Place, ...]:
    """Return every side of a volume that should have an image, in order.

    Covers and inside covers always; spine, flyleaves and pocket where the log names them;
    two sides of every leaf.
    """
    named = {place.leaf for place in volume.places}
    sides = [Place(leaf=FRONT_COVER)]
    sides += [Place(leaf=SPINE)] if SPINE in named else []
    sides.append(Place(leaf=INSIDE_FRONT_COVER))
    sides += both_sides(FLYLEAF) if FLYLEAF in named else []
    for label in find_leaves(volume).labels:
        sides += both_sides(label)
    sides += both_sides(BACK_FLYLEAF) if BACK_FLYLEAF in named else []
    sides += [Place(leaf=POCKET)] if POCKET in named else []
    return (*sides, Place(leaf=INSIDE_BACK_COVER), Place(leaf=BACK_COVER))


def find_views(volume: VolumeLog, imaged_by: ImagedBy) -> tuple[tuple[Place, ...], ...]:
    """Return what each image of a volume shows, in order: a side, or two facing pages.

    By openings, the closed covers, the spine and the pocket are images of their own; the
    rest is paired as it lies open: inside front cover and first recto, verso and next
    recto, last verso and inside back cover.
    """
    sides = find_sides(volume)
    if imaged_by is ImagedBy.PAGES:
        return tuple((side,) for side in sides)
    views: list[tuple[Place, ...]] = []
    alone = {FRONT_COVER, SPINE, POCKET, BACK_COVER}
    waiting: list[Place] = []
    for side in sides:
        if side.leaf in alone:
            views.append((side,))
            continue
        waiting.append(side)
        if len(waiting) == 2:
            views.append(tuple(waiting))
            waiting = []
    return tuple(sorted(views, key=lambda view: place_order(view[0].leaf, view[0].side)))


def find_imaged_by(volume: VolumeLog, otherwise: ImagedBy) -> ImagedBy:
    """Return how a volume was imaged: as its remark says ("imaged by openings"), else as given."""
    remark = volume.entry.remark if volume.entry is not None else None
    said = list(_IMAGED_BY.finditer(remark or ""))
    if not said:
        return otherwise
    return ImagedBy.OPENINGS if said[-1]["openings"] else ImagedBy.PAGES


def both_sides(leaf: str) -> list[Place]:
    """Return recto and verso of a leaf."""
    return [Place(leaf=leaf, side=side) for side in (Side.RECTO, Side.VERSO)]


def is_leaf(label: str) -> bool:
    """Whether a label is that of a numbered leaf, and not of a cover or an insert."""
    return _LEAF.fullmatch(label) is not None


def leaf_order(label: str) -> tuple[int, int, str, int, int]:
    """Return a key that sorts leaf labels as the leaves follow each other."""
    return place_order(label, None)


def describe_runs(places: Iterable[Place], order: Sequence[Place]) -> Iterator[tuple[Place, ...]]:
    """Yield the places in runs that follow each other without a gap in ``order``."""
    ranks = {place: rank for rank, place in enumerate(order)}
    run: list[Place] = []
    for place in sorted(places, key=ranks.__getitem__):
        if run and ranks[place] != ranks[run[-1]] + 1:
            yield tuple(run)
            run = []
        run.append(place)
    if run:
        yield tuple(run)


def _number(label: str) -> int:
    found = _LEAF.fullmatch(label)
    return int(found[1]) if found else 0


def _letters_up_to(label: str) -> tuple[str, ...]:
    """Return the lettered leaves that a label calls for: 7B calls for 7A and 7B."""
    number, letter = _number(label), label[-1]
    if not letter.isalpha():
        return ()
    return tuple(f"{number}{chr(code)}" for code in range(ord("A"), ord(letter) + 1))


def _leaves_of_insert(leaf: str | None) -> tuple[str, ...]:
    """Return the leaves on either side of an insert: "between 12 and 13" names both."""
    if leaf is None or not leaf.startswith("between "):
        return ()
    return tuple(word for word in leaf.split() if is_leaf(word))
