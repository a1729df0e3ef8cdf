"""What is seen on scans: blank or not, the same or not; and nothing is ever written."""

from __future__ import annotations

import hashlib
import struct
import zlib
from itertools import combinations
from pathlib import Path

import imagehash
import numpy as np
import pytest
from PIL import Image, ImageChops, ImageEnhance, TiffImagePlugin
from scipy.fft import dctn

from tests.checks.scans.pictures import BLACK_PAPER, draw_page, save_page
from voicelog.checks.scans.looking import ALIKE_BITS, Look, SeenScans, look_at, look_at_scans
from voicelog.checks.scans.matching import ScanFolder, parse_matching, read_scan_set
from voicelog.checks.scans.scan_set import UnreadableScan

CREAM, BEIGE = (228, 220, 200), (150, 140, 120)


def look(path: Path, image: Image.Image) -> Look:
    seen = look_at(save_page(path, image))
    assert isinstance(seen, Look)
    return seen


def see(folder: Path, *, workers: int = 1) -> SeenScans:
    scan_set = read_scan_set([ScanFolder(path=folder)], (), parse_matching(()))
    return look_at_scans(scan_set, workers=workers)


@pytest.mark.parametrize("paper", [BLACK_PAPER, CREAM, BEIGE])
@pytest.mark.parametrize("name", ["1.jpg", "1.tif", "1.png"])
def test_a_blank_page_seems_blank_and_a_full_one_busy(
    tmp_path: Path, paper: tuple[int, int, int], name: str
) -> None:
    """Whatever the paper; its grain and the shade of the lamp are nothing."""
    blank = look(tmp_path / name, draw_page(1, items=0, paper=paper))
    assert (blank.seems_blank, blank.seems_busy) == (True, False)
    full = look(tmp_path / name, draw_page(2, items=1, paper=paper))
    assert (full.seems_blank, full.seems_busy) == (False, True)


def test_the_rim_is_not_looked_at(tmp_path: Path) -> None:
    """The bed of the scanner around a page is no thing on it."""
    page = draw_page(1, items=0, paper=CREAM)
    bed = Image.new("RGB", (page.width + 60, page.height + 80), (10, 10, 10))
    bed.paste(page, (30, 40))
    assert look(tmp_path / "1.jpg", bed).seems_blank


def test_the_same_page_twice_is_alike_and_different_pages_are_not(tmp_path: Path) -> None:
    """Moved a little, lit a little differently, compressed again."""
    for seed in range(12):
        page = draw_page(seed, items=2)
        again = ImageEnhance.Brightness(ImageChops.offset(page, 3, 2)).enhance(1.05)
        save_page(tmp_path / f"{seed}-1.jpg", page, quality=92)
        save_page(tmp_path / f"{seed}-2.jpg", again, quality=70)
    groups = {tuple(scan.name for scan in group) for group in see(tmp_path).alike}
    assert groups == {(f"{seed}-1.jpg", f"{seed}-2.jpg") for seed in range(12)}


def test_fingerprints_are_those_of_the_published_method(tmp_path: Path) -> None:
    """The perceptual hash by its definition, worked out here.

    32 x 32 levels, their cosine transform, the 8 x 8 lowest frequencies against their median
    (Zauner, "Implementation and Benchmarking of Perceptual Image Hash Functions", 2010, from
    memory).
    """
    grey = draw_page(5, items=3).convert("L")
    grey.thumbnail((256, 256), Image.Resampling.BOX)
    levels = np.asarray(grey.resize((32, 32), Image.Resampling.LANCZOS), dtype=float)
    low = dctn(levels, type=2)[:8, :8]
    expected = imagehash.ImageHash(low > np.median(low))
    path = save_page(tmp_path / "1.png", draw_page(5, items=3))
    seen = look_at(path)
    assert isinstance(seen, Look)
    assert seen.fingerprint == int(str(expected), 16)


def test_blank_pages_are_not_alike_but_one_file_twice_is_told(tmp_path: Path) -> None:
    """All blank pages look the same; only the same bytes say anything of them."""
    for seed in range(4):
        save_page(tmp_path / f"{seed}.jpg", draw_page(seed, items=0))
    (tmp_path / "9.jpg").write_bytes((tmp_path / "3.jpg").read_bytes())
    seen = see(tmp_path)
    assert seen.alike == ()
    assert [[scan.path.name for scan in group] for group in seen.identical] == [["3.jpg", "9.jpg"]]


def test_a_scan_that_ends_too_soon_is_unreadable(tmp_path: Path) -> None:
    """Its header is whole, its pixels are not; the others are still seen."""
    whole = save_page(tmp_path / "1.jpg", draw_page(1, items=1))
    for name in ("2.jpg", "3.tif", "4.png"):
        path = save_page(tmp_path / name, draw_page(2, items=1))
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 3])
    seen = see(tmp_path)
    assert list(seen.looks) == [whole]
    broken = [*seen.unreadable, *seen.scan_set.unreadable]
    assert sorted(one.path.name for one in broken) == ["2.jpg", "3.tif", "4.png"]
    assert all(one.reason for one in broken)


DAMAGED_TIFFS = {
    "nothing behind the header": b"II*\0\x08\0\0\0",
    "an offset beyond the end": b"II*\0\xff\xff\xff\x7f",
    "an endless chain of directories": b"II*\0\x08\0\0\0\0\0\x08\0\0\0",
    "a tag of an unknown kind": b"MM\0*\0\0\0\x08\0\x01\x01\0\x00\x63\0\0\0\x01\0\0\0\x01\0\0\0\0",
    "a size of nothing": b"II*\0\x08\0\0\0\x01\0\x00\x01\x04\0\x01\0\0\0\0\0\0\0\0\0\0\0",
    "a PNG inside": b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR",
    "text": b"This is no image.\n",
    "nothing at all": b"",
}


@pytest.mark.parametrize("content", DAMAGED_TIFFS.values(), ids=DAMAGED_TIFFS)
def test_damaged_tiffs_are_told_and_never_stop_the_rest(tmp_path: Path, content: bytes) -> None:
    """Each with a reason."""
    (tmp_path / "1.tif").write_bytes(content)
    whole = save_page(tmp_path / "2.tif", draw_page(1, items=1))
    seen = see(tmp_path)
    assert list(seen.looks) == [whole]
    (broken,) = (*seen.unreadable, *seen.scan_set.unreadable)
    assert broken.reason


def test_scans_are_never_written(tmp_path: Path) -> None:
    """A folder that nobody may write to is looked at, and every byte stays as it was."""
    for number, name in enumerate(("1.jpg", "2.tif", "3.png")):
        save_page(tmp_path / "scans" / name, draw_page(number, items=1))
    (tmp_path / "scans" / "4.tif").write_bytes(b"II*\0 broken")
    folder = tmp_path / "scans"
    before = {
        path: (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns)
        for path in folder.iterdir()
    }
    for path in before:
        path.chmod(0o400)
    folder.chmod(0o500)
    try:
        assert len(see(folder).looks) == 3
    finally:
        folder.chmod(0o700)
    assert before == {
        path: (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns)
        for path in folder.iterdir()
    }


def test_several_processes_see_the_same_as_one(tmp_path: Path) -> None:
    """In the same order, with every file counted."""
    for number in range(24):
        save_page(
            tmp_path / f"{number:02d}.jpg", draw_page(number, items=number % 3, size=(90, 120))
        )
    (tmp_path / "10.jpg").write_bytes(b"\xff\xd8\xff broken")
    counted: list[tuple[int, int]] = []
    scan_set = read_scan_set([ScanFolder(path=tmp_path)], (), parse_matching(()))
    (tmp_path / "11.jpg").write_bytes(b"\xff\xd8\xff broken meanwhile")
    many = look_at_scans(scan_set, workers=2, on_seen=lambda done, of: counted.append((done, of)))
    one = look_at_scans(scan_set, workers=1)
    assert dict(many.looks) == dict(one.looks)
    assert many.unreadable == one.unreadable
    assert [file.path.name for file in one.unreadable] == ["11.jpg"]
    assert counted == [(done, 23) for done in range(1, 24)]


def test_the_smaller_picture_of_a_tiff_is_enough(tmp_path: Path) -> None:
    """Where a TIFF carries a reduced picture (TIFF 6.0, NewSubfileType bit 0), that is decoded."""
    page = draw_page(1, items=2, size=(1200, 1600))
    reduced = page.resize((300, 400))
    kind = TiffImagePlugin.ImageFileDirectory_v2()
    kind[254] = 1
    path = tmp_path / "1.tif"
    with TiffImagePlugin.AppendingTiffWriter(str(path), new=True) as writer:
        page.save(writer, format="TIFF")
        writer.newFrame()
        reduced.save(writer, format="TIFF", tiffinfo=kind)
        writer.newFrame()
    # The strips of the large picture are damaged: who decodes them sees nothing of the page.
    with Image.open(path) as image:
        first = image.tag_v2[273][0]
    content = bytearray(path.read_bytes())
    content[first : first + 1200 * 1000 * 3] = bytes(1200 * 1000 * 3)
    path.write_bytes(content)
    seen = look_at(path)
    alone = look_at(save_page(tmp_path / "2.tif", reduced))
    assert isinstance(seen, Look)
    assert isinstance(alone, Look)
    assert seen.fingerprint == alone.fingerprint


def test_a_picture_that_claims_too_many_pixels_is_not_decoded(tmp_path: Path) -> None:
    """A few bytes can claim terabytes."""
    size = struct.pack(">IIBBBBB", 100_000, 100_000, 8, 2, 0, 0, 0)
    chunks = (
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in ((b"IHDR", size), (b"IDAT", zlib.compress(bytes(1000))), (b"IEND", b""))
    )
    (tmp_path / "1.png").write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(chunks))
    (broken,) = see(tmp_path).scan_set.unreadable
    assert isinstance(broken, UnreadableScan)
    assert "pixels" in broken.reason


def test_distances_between_drawn_pages_leave_room(tmp_path: Path) -> None:
    """The limit for alike lies well below what different pages come to."""
    looks = [
        look(tmp_path / f"{seed}.jpg", draw_page(seed, items=1 + seed % 3)) for seed in range(16)
    ]
    nearest = min((a.fingerprint ^ b.fingerprint).bit_count() for a, b in combinations(looks, 2))
    assert nearest > ALIKE_BITS + 1
