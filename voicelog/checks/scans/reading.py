"""Reading a folder of scans: which files are images, and what their headers say.

The one seam to the image library: whatever it raises becomes an :class:`UnreadableScan`.
Files are opened for reading only.
"""

from __future__ import annotations

import os
import re
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from voicelog.checks.scans.scan_set import MEDIA_TYPES, Scan, UnreadableScan
from voicelog.errors import UnusableInput

if TYPE_CHECKING:
    from PIL.Image import Image

SUFFIXES = frozenset({".jpg", ".jpeg", ".png", ".tif", ".tiff"})
"""Endings of files that should be images; others are passed over and named."""

# Pillow takes more than 89 million pixels for an attack. A large album at 600 ppi has
# that many; what is beyond this is no scan of a page.
_MOST_PIXELS = 1_000_000_000
# What decoding it takes; a scan of a real page is never packed as tightly as an empty one.
_HARMLESS_BYTES = 300_000_000
_MOST_TIMES_LARGER = 200
_TIFF_X_RESOLUTION = 282  # TIFF 6.0, and the same tag in Exif
_TIFF_ORIENTATION = 274  # the same tag in both
_QUARTER_TURNS = frozenset({5, 6, 7, 8})  # TIFF 6.0, Orientation: row 0 stands at a side
_LEAST_PPI = 10  # below it a tag says nothing: Pillow gives 1 where a TIFF has none
_DIGITS = re.compile(r"(\d+)")


def list_files(folder: Path) -> list[Path]:
    """Return the files of a folder and its folders, hidden ones left out, in order.

    Numbers in names count as numbers: page 9 comes before page 10.

    Raises:
        UnusableInput: it is no folder, or can't be read.
    """
    if not folder.is_dir():
        raise UnusableInput(
            f"{folder} is not a folder; name the folder that holds the scans.", source=str(folder)
        )
    try:
        found = list(_walk(folder))
    except OSError as failure:
        raise UnusableInput(
            f"{failure.filename or folder} can't be read "
            f"({(failure.strerror or 'unknown reason').lower()}); "
            "check the rights of the folder and those in it.",
            source=str(folder),
        ) from failure
    return sorted(found, key=lambda file: natural_order(str(file.relative_to(folder))))


def natural_order(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts names as people count.

    >>> sorted(["p10.jpg", "p9.jpg", "P1.jpg"], key=natural_order)
    ['P1.jpg', 'p9.jpg', 'p10.jpg']
    """
    return tuple(
        (0, int(part), "") if part.isdecimal() else (1, 0, part.casefold())
        for part in _DIGITS.split(text)
    )


def is_image_name(path: Path) -> bool:
    """Whether a file's ending is that of an image."""
    return path.suffix.lower() in SUFFIXES


def read_scan(path: Path) -> Scan | UnreadableScan:
    """Return what the header of an image says; its pixels are not decoded."""
    try:
        with open_image(path) as image:
            width, height = image.size
            if width * height > _MOST_PIXELS:
                return UnreadableScan(path=path, reason=f"it claims {width} × {height} pixels")
            decoded_bytes = width * height * len(image.getbands())
            if decoded_bytes > max(_HARMLESS_BYTES, _MOST_TIMES_LARGER * path.stat().st_size):
                return UnreadableScan(
                    path=path,
                    reason=f"it would come to more than {_MOST_TIMES_LARGER} times its length",
                )
            return Scan(
                path=path,
                file_format=_name_format(image),
                width_px=width,
                height_px=height,
                mode=image.mode,
                is_on_its_side=_is_on_its_side(image),
                ppi=_read_ppi(image),
            )
    except ImageUnreadable as failure:
        return UnreadableScan(path=path, reason=str(failure))


class ImageUnreadable(Exception):
    """The image library can't make sense of a file; never leaves this package."""


@contextmanager
def open_image(path: Path) -> Iterator[Image]:
    """Open an image to read its header, and its pixels if they are asked for.

    Raises:
        ImageUnreadable: there, or while its pixels are decoded, the file failed.
    """
    from PIL import Image  # noqa: PLC0415 - commands without scans need no Pillow

    before = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = _MOST_PIXELS
    try:
        with warnings.catch_warnings():
            # Odd metadata; what the warning is about shows in the values that are read.
            warnings.simplefilter("ignore")
            with Image.open(path, formats=tuple(MEDIA_TYPES)) as image:
                yield image
    # What damaged files make of Pillow's decoders, by its documentation and by trying.
    except (
        OSError, SyntaxError, ValueError, TypeError, KeyError, IndexError, OverflowError,
        EOFError, MemoryError, struct.error, ZeroDivisionError, Image.DecompressionBombError,
    ) as failure:  # fmt: skip
        raise ImageUnreadable(_explain(failure)) from failure
    finally:
        Image.MAX_IMAGE_PIXELS = before


def _explain(failure: BaseException) -> str:
    if isinstance(failure, OSError) and failure.strerror:
        return failure.strerror.lower()
    text = str(failure)
    if "cannot identify" in text:
        return "it is no JPEG, PNG or TIFF inside"
    return text or type(failure).__name__


def _name_format(image: Image) -> str:
    # Cameras write MPO, a JPEG with more pictures behind the first.
    return image.format if image.format in {"PNG", "TIFF"} else "JPEG"


def _read_ppi(image: Image) -> tuple[float, float] | None:
    found = image.info.get("dpi")
    if found is None:
        return None
    has_density = image.info.get("jfif_unit") in {1, 2}
    if image.format == "JPEG" and not has_density and not _says_resolution(image):
        # Pillow gives 72 where an Exif block says nothing; that is no measurement.
        return None
    across, down = float(found[0]), float(found[1])
    return (across, down) if min(across, down) >= _LEAST_PPI else None


def _is_on_its_side(image: Image) -> bool:
    # A TIFF comes upright already, and a PNG would be decoded to find its Exif block.
    if image.format in {"PNG", "TIFF"}:
        return False
    return image.getexif().get(_TIFF_ORIENTATION) in _QUARTER_TURNS


def _says_resolution(image: Image) -> bool:
    return _TIFF_X_RESOLUTION in image.getexif()


def _walk(folder: Path) -> Iterator[Path]:
    def refuse(failure: OSError) -> NoReturn:
        raise failure

    # A folder that can't be opened must not look like an empty one.
    for where, folders, names in os.walk(folder, onerror=refuse):
        folders[:] = [name for name in folders if not _is_hidden(name)]
        for name in names:
            file = Path(where, name)
            if not _is_hidden(name) and file.is_file():
                yield file


def _is_hidden(name: str) -> bool:
    return name.startswith(".") or name in {"__MACOSX", "Thumbs.db", "desktop.ini"}
