"""The rebuild guides of ``voicelog house --guide``: an HTML file and a PDF for each volume."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from voicelog.checks.scans.scan_set import Scan, ScanSet, read_thumbnail
from voicelog.checks.volumes import VolumeKey
from voicelog.cli.house_paper import write_bytes
from voicelog.cli.terminal import say
from voicelog.domain.place import Place
from voicelog.errors import UsageError
from voicelog.housing.guide.html import write_html
from voicelog.housing.guide.pdf import print_guide
from voicelog.housing.guide.views import FindThumbnail, make_guide
from voicelog.housing.openings import find_private_places
from voicelog.housing.plan import VolumePlan
from voicelog.store.failures import explained
from voicelog.vocabulary.concepts import Caution
from voicelog.vocabulary.loading import load_closing

_THUMBNAIL_PX = 420
_JPEG_QUALITY = 72
_NO_NAME = re.compile(r"[^\w-]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideOptions:
    """How guides look.

    Attributes:
        repository: its name, or "".
        size_mm: width and height of the paper.
        scans: the pictures of the pages, or None.
        include_restricted: whether pictures that show something restricted are shown.
    """

    repository: str
    size_mm: tuple[float, float]
    scans: ScanSet | None = None
    include_restricted: bool = False


def write_guides(
    folder: Path,
    plans: Sequence[VolumePlan],
    cautions: Mapping[str, Caution],
    options: GuideOptions,
) -> None:
    """Write the guides of all volumes into a folder, and say where.

    Args:
        folder: made where it is missing; guides of the same volumes in it are replaced.
        plans: the volumes.
        cautions: the cautions by their ids.
        options: how they look.

    Raises:
        UsageError: the folder can't be made.
        StoreError: a file can't be written.
    """
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is not a folder; name a folder with --guide.")
    if not folder.resolve().parent.is_dir():
        raise UsageError(f"The folder of {folder} is not there; make it, or change --guide.")
    with explained(folder.resolve().parent):
        folder.mkdir(exist_ok=True)
    closing = load_closing()
    taken: set[str] = set()
    for plan in plans:
        volume = plan.volume
        private = find_private_places(volume)
        if options.include_restricted:
            private = frozenset()
        thumbnails = _Thumbnails(options.scans, volume.key, private)
        guide = make_guide(volume, thumbnails.find)
        name = _name_file(volume.accession, volume.title, taken)
        known = [cautions[caution] for caution in plan.cautions]
        html = write_html(guide, known, repository=options.repository, closing=closing)
        paper = print_guide(
            guide,
            known,
            repository=options.repository,
            closing=closing,
            size_mm=options.size_mm,
        )
        write_bytes(folder / f"{name}.html", html.encode("utf-8"), option="--guide")
        write_bytes(folder / f"{name}.pdf", paper.pdf, option="--guide")
        say(f"Rebuild guide of {volume.title}: {folder / name}.html and .pdf ({paper.pages} p.).")
        if thumbnails.unreadable:
            count = len(thumbnails.unreadable)
            say(f"{count} {'scan' if count == 1 else 'scans'} could not be read and is not shown.")
        if thumbnails.withheld:
            count = len(thumbnails.withheld)
            say(
                f"{count} {'page shows' if count == 1 else 'pages show'} something restricted; "
                "no picture of it unless --include-restricted."
            )


class _Thumbnails:
    """Makes the small pictures of one volume, each once."""

    def __init__(self, scans: ScanSet | None, volume: VolumeKey, private: frozenset[Place]) -> None:
        self._scans = scans
        self._volume = volume
        self._private = private
        self.unreadable: set[Path] = set()
        self.withheld: set[Place] = set()

    @property
    def find(self) -> FindThumbnail:
        """What gives the picture of a place."""
        return self._find

    def _find(self, place: Place) -> bytes | None:
        if self._scans is None:
            return None
        for scan in self._scans.of_place(self._volume, place):
            if place in self._private:
                self.withheld.add(place)
                return None
            try:
                return _draw_thumbnail(scan, place)
            except OSError:
                self.unreadable.add(scan.path)
        return None


def _draw_thumbnail(scan: Scan, place: Place) -> bytes:
    """Return a picture of a place as JPEG; of an opening, the half that shows it."""
    picture = read_thumbnail(scan, longest_px=_THUMBNAIL_PX)
    if len(scan.places) == 2:
        middle = picture.width // 2
        is_left = scan.places[0] == place
        left, right = (0, middle) if is_left else (middle, picture.width)
        picture = picture.crop((left, 0, right, picture.height))
    out = BytesIO()
    picture.save(out, "JPEG", quality=_JPEG_QUALITY)
    return out.getvalue()


def _name_file(accession: str | None, title: str, taken: set[str]) -> str:
    """Return a file name for a volume that no other volume has here.

    >>> _name_file("2031-007", "volume 1, the green book", set())
    '2031-007-volume-1-the-green-book-guide'
    """
    plain = _NO_NAME.sub("-", f"{accession or 'no-accession'}-{title}").strip("-")[:80]
    name, number = f"{plain}-guide", 2
    while name in taken:
        name, number = f"{plain}-{number}-guide", number + 1
    taken.add(name)
    return name
