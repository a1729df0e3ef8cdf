"""The images of a log on disk, and what each of them shows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from voicelog.checks.volumes import VolumeKey
from voicelog.domain.place import Place

if TYPE_CHECKING:
    from PIL.Image import Image

MEDIA_TYPES: Mapping[str, str] = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
}
"""The image formats that are read, by Pillow's names, with their registered media types
(IANA media types registry)."""


def name_file(path: Path) -> str:
    """Return a file's name with its folder, as text that can be printed and stored.

    A name that is no text in the encoding of the system comes with question marks.

    >>> name_file(Path("/scans/green-book/014r.jpg"))
    'green-book/014r.jpg'
    """
    return "/".join(path.parts[-2:]).encode("utf-8", "replace").decode("utf-8")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """One image file, as its header describes it, and what it shows.

    Attributes:
        path: the file; it is only ever read.
        file_format: a key of :data:`MEDIA_TYPES`.
        width_px: width in pixels as the image library decodes it; see ``upright_px``.
        height_px: height in pixels as the image library decodes it.
        is_on_its_side: whether a tag asks to turn what is decoded by a quarter.
        mode: the kind of pixels in Pillow's words: "RGB", "L" (grey), "1" (two-tone), ...
        ppi: pixels per inch across and down by the file's own tag; None where it has none.
        number: its image number, where its name tells one.
        volume: the volume it shows, or None where nothing tells.
        places: what it shows: one place; the two facing pages of an opening; or nothing
            where neither its name, its order nor the log tells.
    """

    path: Path
    file_format: str
    width_px: int
    height_px: int
    mode: str
    is_on_its_side: bool = False
    ppi: tuple[float, float] | None = None
    number: int | None = None
    volume: VolumeKey | None = None
    places: tuple[Place, ...] = ()

    @property
    def name(self) -> str:
        """The file's name as text."""
        return name_file(self.path).rpartition("/")[2]

    @property
    def upright_px(self) -> tuple[int, int]:
        """Width and height in pixels as it is to be looked at."""
        stored = (self.width_px, self.height_px)
        return (stored[1], stored[0]) if self.is_on_its_side else stored

    @property
    def media_type(self) -> str:
        """The registered media type of the file."""
        return MEDIA_TYPES[self.file_format]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnreadableScan:
    """A file that should be an image and can't be read.

    Attributes:
        path: the file.
        reason: why, as the image library says it.
    """

    path: Path
    reason: str


@dataclass(frozen=True, kw_only=True)
class ScanSet:
    """The images of a log on disk.

    Attributes:
        scans: every readable image, volume by volume in the order of its places, those
            that show no known place last.
        unreadable: files with an image's name that can't be read.
        others: files that are no images.
    """

    scans: tuple[Scan, ...] = ()
    unreadable: tuple[UnreadableScan, ...] = ()
    others: tuple[Path, ...] = ()

    def of_volume(self, volume: VolumeKey) -> tuple[Scan, ...]:
        """Return the images of one volume, in the order of its places."""
        return tuple(scan for scan in self.scans if scan.volume == volume)

    def of_place(self, volume: VolumeKey, place: Place) -> tuple[Scan, ...]:
        """Return the images that show a place, in the order of their names.

        A place without a side that has sides (leaf "3") is shown by images of either side.
        """
        sides = (place,) if place.side or not place.has_sides else self._sides_of(volume, place)
        found = (scan for side in sides for scan in self._by_place.get((volume, side), ()))
        return tuple(dict.fromkeys(found))

    def _sides_of(self, volume: VolumeKey, place: Place) -> Iterable[Place]:
        return (one for of, one in self._by_place if of == volume and one.leaf == place.leaf)

    @cached_property
    def _by_place(self) -> dict[tuple[VolumeKey | None, Place], list[Scan]]:
        found: dict[tuple[VolumeKey | None, Place], list[Scan]] = {}
        for scan in self.scans:
            for place in scan.places:
                found.setdefault((scan.volume, place), []).append(scan)
        return found


def read_thumbnail(scan: Scan, *, longest_px: int) -> Image:
    """Return a small upright RGB picture of a scan, for a page of paper or of the screen.

    A JPEG is decoded at a fraction of its size, so this costs little. The file is only read.

    Args:
        scan: the scan.
        longest_px: length of the longer side, in pixels; smaller scans stay as they are.

    Raises:
        OSError: the file can't be read any more, or its pixels are damaged.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415 - a command that shows no scan needs no Pillow

    with Image.open(scan.path, formats=tuple(MEDIA_TYPES)) as opened:
        opened.draft("RGB", (longest_px, longest_px))
        upright = ImageOps.exif_transpose(opened)
        grey_only = upright.mode.startswith("I;16")
        small = as_grey(upright).convert("RGB") if grey_only else upright.convert("RGB")
    small.thumbnail((longest_px, longest_px), Image.Resampling.BOX)
    return small


def as_grey(image: Image) -> Image:
    """Return a picture in 256 levels of grey ("L"), as bright as it was."""
    if image.mode.startswith("I;16"):
        # Sixteen bits of grey: Pillow would cut them off above 255 instead of scaling.
        return image.point(lambda value: value / 256).convert("L")
    return image.convert("L")
