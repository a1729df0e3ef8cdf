"""Looking at scans: whether their pixels can be read, how much is on them, what they resemble.

Several processes share the work. A JPEG is decoded at an eighth of its size where that
is enough, a TIFF from its smaller picture where it carries one. Files are only read.
"""

from __future__ import annotations

import hashlib
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from voicelog.checks.scans.reading import ImageUnreadable, open_image
from voicelog.checks.scans.scan_set import Scan, ScanSet, UnreadableScan, as_grey
from voicelog.errors import UnusableInput

if TYPE_CHECKING:
    from collections.abc import Mapping

    from PIL.Image import Image

_LOOKED_AT_PX = 256
# The rim of a scan shows the bed, a colour chart, the edges of the leaves beneath.
_RIM = 0.08
# Levels of 256 between neighbouring pixels; the grain of paper stays below when a page is
# 256 pixels high.
_EDGE_LEVELS = 14
# Of the pixels inside the rim. Tried on drawn pages only (tests/checks/scans); between the
# two nothing is claimed.
BLANK_BELOW = 0.002
BUSY_ABOVE = 0.01
# Of 64 bits; tried on drawn pages only. Pages of one album resemble each other more than
# pictures from anywhere do, so this is stricter than what is usual for photographs.
ALIKE_BITS = 6
_FEWEST_FOR_PROCESSES = 24
_REDUCED_IMAGE = 1  # bit 0 of NewSubfileType, tag 254; TIFF 6.0, section 8
_NEW_SUBFILE_TYPE = 254


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What was seen on one scan.

    Attributes:
        path: the file.
        detail: share of the pixels, 0..1, that differ clearly from a neighbour.
        fingerprint: perceptual hash of 64 bits (pHash); alike pictures differ in few bits.
        size_bytes: length of the file.
    """

    path: Path
    detail: float
    fingerprint: int
    size_bytes: int

    @property
    def seems_blank(self) -> bool:
        """Whether hardly anything can be seen on it."""
        return self.detail < BLANK_BELOW

    @property
    def seems_busy(self) -> bool:
        """Whether something can clearly be seen on it."""
        return self.detail > BUSY_ABOVE


@dataclass(frozen=True, kw_only=True)
class SeenScans:
    """A set of scans and what was seen on each.

    Attributes:
        scan_set: the scans.
        looks: what was seen, by file.
        unreadable: files whose header is an image's, and whose pixels can't be read.
    """

    scan_set: ScanSet
    looks: Mapping[Path, Look]
    unreadable: tuple[UnreadableScan, ...] = ()

    @cached_property
    def identical(self) -> tuple[tuple[Scan, ...], ...]:
        """Groups of scans that are the same file byte by byte."""
        # Files are read again only where length and looks don't tell them apart.
        by_looks: dict[tuple[int, int], list[Scan]] = {}
        for scan in self._seen():
            look = self.looks[scan.path]
            by_looks.setdefault((look.size_bytes, look.fingerprint), []).append(scan)
        groups: dict[str, list[Scan]] = {}
        for scans in by_looks.values():
            if len(scans) > 1:
                for scan in scans:
                    groups.setdefault(_digest(scan.path), []).append(scan)
        return tuple(tuple(scans) for scans in groups.values() if len(scans) > 1)

    @cached_property
    def alike(self) -> tuple[tuple[Scan, ...], ...]:
        """Groups of scans that show the same, as far as their fingerprints tell.

        Each is like the first of its group. Blank pages all look alike, so only scans with
        something on them are compared; what is the same file is no group of its own.
        """
        import numpy as np  # noqa: PLC0415 - only where scans are looked at

        scans = [scan for scan in self._seen() if not self.looks[scan.path].seems_blank]
        prints = np.array([self.looks[scan.path].fingerprint for scan in scans], dtype=np.uint64)
        is_grouped = np.zeros(len(scans), dtype=bool)
        groups: list[tuple[Scan, ...]] = []
        for rank in range(len(scans)):
            if is_grouped[rank]:
                continue
            near = np.bitwise_count(prints ^ prints[rank]) <= ALIKE_BITS
            group = np.flatnonzero(near & ~is_grouped)
            is_grouped[group] = True
            if len(group) > 1:
                groups.append(tuple(scans[one] for one in group))
        same = {frozenset(group) for group in self.identical}
        return tuple(group for group in groups if frozenset(group) not in same)

    def _seen(self) -> Iterator[Scan]:
        return (scan for scan in self.scan_set.scans if scan.path in self.looks)


def look_at_scans(
    scan_set: ScanSet,
    *,
    workers: int | None = None,
    on_seen: Callable[[int, int], None] = lambda _done, _of: None,
) -> SeenScans:
    """Return what is seen on every scan.

    Args:
        scan_set: the scans.
        workers: how many processes share the work; None for one a processor.
        on_seen: told after each scan how many of how many were looked at.

    Raises:
        UnusableInput: a scan brought the image library down.
    """
    paths = [scan.path for scan in scan_set.scans]
    looks: dict[Path, Look] = {}
    unreadable: list[UnreadableScan] = []
    for done, seen in enumerate(_look_at_all(paths, workers or os.cpu_count() or 1), start=1):
        match seen:
            case Look():
                looks[seen.path] = seen
            case _:
                unreadable.append(seen)
        on_seen(done, len(paths))
    return SeenScans(scan_set=scan_set, looks=MappingProxyType(looks), unreadable=tuple(unreadable))


def look_at(path: Path) -> Look | UnreadableScan:
    """Return what is seen on one scan."""
    try:
        with open_image(path) as image:
            grey = _read_small(image)
            return Look(
                path=path,
                detail=measure_detail(grey),
                fingerprint=fingerprint(grey),
                size_bytes=path.stat().st_size,
            )
    except ImageUnreadable as failure:
        return UnreadableScan(path=path, reason=str(failure))


def measure_detail(grey: Image) -> float:
    """Return which share of the pixels inside the rim differs clearly from a neighbour.

    Args:
        grey: a grey picture ("L") about 256 pixels long.
    """
    import numpy as np  # noqa: PLC0415 - only where scans are looked at

    levels = np.asarray(grey, dtype=np.int16)
    down, across = (int(length * _RIM) for length in levels.shape)
    inside = levels[down : levels.shape[0] - down, across : levels.shape[1] - across]
    if min(inside.shape) < 2:
        return 0.0
    below = np.abs(np.diff(inside, axis=0))[:, :-1]
    beside = np.abs(np.diff(inside, axis=1))[:-1, :]
    return float(np.mean(np.maximum(below, beside) > _EDGE_LEVELS))


def fingerprint(grey: Image) -> int:
    """Return the perceptual hash (pHash) of a picture as a number of 64 bits."""
    import imagehash  # noqa: PLC0415 - loads scipy

    return int(str(imagehash.phash(grey)), 16)


def _look_at_all(paths: Sequence[Path], workers: int) -> Iterable[Look | UnreadableScan]:
    if workers == 1 or len(paths) < _FEWEST_FOR_PROCESSES:
        yield from map(look_at, paths)
        return
    # Not forked: the program that calls this may have threads.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(
        min(workers, len(paths)),
        mp_context=context,
        # Ctrl-C reaches all of them; this process alone ends the work.
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),
    )
    try:
        yield from pool.map(look_at, paths, chunksize=4)
    except BrokenProcessPool as failure:
        raise UnusableInput(
            "A scan brought the image library down; look at the scans in smaller folders to "
            "find it. Nothing was changed.",
            source=str(paths[0].parent),
        ) from failure
    finally:
        pool.shutdown(cancel_futures=True)


def _read_small(image: Image) -> Image:
    """Return a grey picture about 256 pixels long, decoding as little as possible."""
    from PIL import Image as Pictures  # noqa: PLC0415 - only where scans are looked at

    wanted = (_LOOKED_AT_PX, _LOOKED_AT_PX)
    image.draft("L", wanted)
    if image.format == "TIFF":
        _seek_smaller(image)
    grey = as_grey(image)
    grey.thumbnail(wanted, Pictures.Resampling.BOX)
    return grey


def _seek_smaller(image: Image) -> None:
    """Go to the smallest reduced picture of a TIFF that is large enough, where it has one."""
    best, pixels = 0, image.width * image.height
    for frame in range(1, getattr(image, "n_frames", 1)):
        image.seek(frame)
        kind = image.tag_v2.get(_NEW_SUBFILE_TYPE, 0)  # type: ignore[attr-defined]
        is_enough = max(image.size) >= _LOOKED_AT_PX
        if kind & _REDUCED_IMAGE and is_enough and image.width * image.height < pixels:
            best, pixels = frame, image.width * image.height
    image.seek(best)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
