"""Matching scans to covers, leaves and sides: by their names, their order, or spoken numbers."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path

from voicelog.checks.scans.names import NamedView, NamePattern, parse_example
from voicelog.checks.scans.reading import is_image_name, list_files, natural_order, read_scan
from voicelog.checks.scans.scan_set import Scan, ScanSet, UnreadableScan
from voicelog.checks.sequence import ImagedBy, find_imaged_by, find_views
from voicelog.checks.volumes import VolumeKey, VolumeLog
from voicelog.domain.entry import Kind, Side
from voicelog.domain.place import Place, place_order
from voicelog.errors import ParseError

_LAST_NUMBER = re.compile(r"(\d+)\D*$")
IN_ORDER = "in order"
IMAGE_NUMBERS = "image numbers"


class MatchBy(StrEnum):
    """What tells which place a scan shows."""

    NAMES = "names"
    ORDER = IN_ORDER
    NUMBERS = IMAGE_NUMBERS


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """How scans are matched.

    Attributes:
        by: what tells the place.
        patterns: forms of names, tried in this order.
        imaged_by: whether a volume has an image a side or one an opening, where its notes
            don't say.
        first_page: the page that is leaf 1 recto.
    """

    by: MatchBy = MatchBy.NUMBERS
    patterns: tuple[NamePattern, ...] = ()
    imaged_by: ImagedBy = ImagedBy.PAGES
    first_page: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanFolder:
    """A folder of scans.

    Attributes:
        path: the folder.
        volume: the volume that all of it shows, as entries name it; None where names tell.
    """

    path: Path
    volume: str | None = None


def parse_matching(
    stated: Sequence[str], *, imaged_by: ImagedBy = ImagedBy.PAGES, first_page: int = 1
) -> Matching:
    """Return how scans are matched, as the setting or the command line states it.

    Args:
        stated: "in order"; "image numbers"; or examples of names. Nothing means image
            numbers: the last number in a name is that of the image.
        imaged_by: for volumes whose notes don't say.
        first_page: the page that is leaf 1 recto.

    Raises:
        ParseError: an example has no such form.
    """
    words = {" ".join(text.lower().split()) for text in stated}
    if words & {IN_ORDER, IMAGE_NUMBERS}:
        if len(words) > 1:
            raise ParseError(
                f"Scans are matched {IN_ORDER!r}, by {IMAGE_NUMBERS!r} or by examples of names, "
                "not by several at once; leave one.",
                text="; ".join(stated),
            )
        by = MatchBy(words.pop())
        return Matching(by=by, imaged_by=imaged_by, first_page=first_page)
    if not stated:
        return Matching(imaged_by=imaged_by, first_page=first_page)
    return Matching(
        by=MatchBy.NAMES,
        patterns=tuple(map(parse_example, stated)),
        imaged_by=imaged_by,
        first_page=first_page,
    )


def parse_scan_folder(text: str) -> ScanFolder:
    """Return a folder of scans as the command line names it: ``FOLDER`` or ``VOLUME=FOLDER``.

    >>> parse_scan_folder("2=scans/picnic")
    ScanFolder(path=PosixPath('scans/picnic'), volume='2')
    """
    volume, sign, path = text.partition("=")
    if not sign or not volume or Path(text).exists():
        return ScanFolder(path=Path(text))
    return ScanFolder(path=Path(path), volume=volume)


def read_scan_set(
    folders: Iterable[ScanFolder],
    volumes: Iterable[VolumeLog],
    matching: Matching,
    *,
    on_read: Callable[[int, int], None] = lambda _done, _of: None,
) -> ScanSet:
    """Return the images in some folders and what each of them shows.

    Only headers are read, so this is quick; no file is ever written.

    Args:
        folders: where the scans lie; folders in them are searched as well.
        volumes: the log's volumes.
        matching: how names, order or numbers tell the places.
        on_read: told after each file how many of how many were read.

    Raises:
        UnusableInput: a folder is not there or can't be read.
    """
    # A folder that is named twice, or lies in another, gives each file once.
    given = {
        file.resolve(): (file, folder) for folder in folders for file in list_files(folder.path)
    }
    files = tuple(given.values())
    matcher = _Matcher(volumes, matching)
    scans: list[Scan] = []
    unreadable: list[UnreadableScan] = []
    others: list[Path] = []
    for done, (file, folder) in enumerate(files, start=1):
        if not is_image_name(file):
            others.append(file)
        else:
            match read_scan(file):
                case Scan() as scan:
                    scans.append(matcher.match(scan, folder))
                case failed:
                    unreadable.append(failed)
                    matcher.pass_over(folder)
        on_read(done, len(files))
    return ScanSet(
        scans=tuple(sorted(scans, key=matcher.order)),
        unreadable=tuple(unreadable),
        others=tuple(others),
    )


class _Matcher:
    """Knows the volumes of a log and what each of their images shows."""

    def __init__(self, volumes: Iterable[VolumeLog], matching: Matching) -> None:
        self._matching = matching
        self._keys: list[VolumeKey] = []
        self._views: dict[VolumeKey, tuple[tuple[Place, ...], ...]] = {}
        self._named: dict[str, VolumeKey] = {}
        self._numbered: dict[VolumeKey, dict[int | None, Place]] = {}
        # What is kept of a volume is what its images show; its entries are not.
        for volume in volumes:
            self._keys.append(volume.key)
            imaged_by = find_imaged_by(volume, matching.imaged_by)
            self._views[volume.key] = find_views(volume, imaged_by)
            self._numbered[volume.key] = _spoken_numbers(volume)
            for name in _names_of(volume):
                self._named.setdefault(name, volume.key)
        self._view_of = {
            key: {place: view for view in views for place in view}
            for key, views in self._views.items()
        }
        self._taken = dict.fromkeys(self._keys, 0)

    def match(self, scan: Scan, folder: ScanFolder) -> Scan:
        """Return the scan with what its name, or its turn, tells."""
        if self._matching.by is MatchBy.ORDER:
            key = self._find_volume(folder.volume, None)
            return replace(scan, volume=key, places=self._take_turn(key))
        told = self._read_name(scan.path.name)
        if told is None:
            return replace(scan, volume=self._find_volume(folder.volume, None))
        key = self._find_volume(told.volume or folder.volume, told.number)
        return replace(scan, volume=key, number=told.number, places=self._find_places(key, told))

    def pass_over(self, folder: ScanFolder) -> None:
        """Let a damaged file take its turn, so that those behind it keep their places."""
        self._take_turn(self._find_volume(folder.volume, None))

    def _take_turn(self, key: VolumeKey | None) -> tuple[Place, ...]:
        if key is None:
            return ()
        rank = self._taken[key]
        self._taken[key] += 1
        views = self._views[key]
        return views[rank] if rank < len(views) else ()

    def order(self, scan: Scan) -> tuple[object, ...]:
        """Return a key that sorts scans by volume, place and name."""
        rank = len(self._keys) if scan.volume is None else self._keys.index(scan.volume)
        first = scan.places[0] if scan.places else None
        place = (5,) if first is None else place_order(first.leaf, first.side)
        return (rank, place, natural_order(str(scan.path)))

    def _read_name(self, name: str) -> NamedView | None:
        if self._matching.by is MatchBy.NAMES:
            told = (
                pattern.read(name, first_page=self._matching.first_page)
                for pattern in self._matching.patterns
            )
            return next((one for one in told if one is not None), None)
        found = _LAST_NUMBER.search(Path(name).stem)
        return NamedView(number=int(found[1])) if found else None

    def _find_volume(self, said: str | None, number: int | None) -> VolumeKey | None:
        if said is not None:
            return self._named.get(said.casefold())
        if len(self._keys) == 1:
            return self._keys[0]
        having = [key for key, numbers in self._numbered.items() if number in numbers]
        return having[0] if len(having) == 1 else None

    def _find_places(self, key: VolumeKey | None, told: NamedView) -> tuple[Place, ...]:
        if key is None:
            return ()
        place = told.place
        if place is None:
            place = self._numbered[key].get(told.number)
        if place is None:
            return ()
        if place.has_sides and place.side is None:
            # A leaf named without a side is its recto.
            place = replace(place, side=Side.RECTO)
        return self._view_of[key].get(place, (place,))


def _names_of(volume: VolumeLog) -> set[str]:
    """Return what may name a volume: its number, the donor's name, that without "the"."""
    said = {volume.key.volume, *(one.volume_name for one in volume.entries)}
    names = {name.casefold() for name in said if name}
    return names | {name.removeprefix("the ") for name in names}


def _spoken_numbers(volume: VolumeLog) -> dict[int | None, Place]:
    """Return the first place at which each image number of a volume was said."""
    found: dict[int | None, Place] = {}
    for entry in volume.entries:
        if entry.leaf is not None and entry.kind is not Kind.VOLUME:
            for number in entry.images:
                found.setdefault(number, Place(leaf=entry.leaf, side=entry.side))
    return found
