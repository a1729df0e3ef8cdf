"""Scans find their places: by name, by order, by spoken image number."""

from __future__ import annotations

import os
import struct
import zlib
from pathlib import Path

import pytest
from PIL import Image

from tests.checks.logs import BEGINNING, read_volumes
from tests.checks.scans.pictures import draw_page, save_page
from voicelog.checks.scans.matching import (
    ScanFolder,
    parse_matching,
    parse_scan_folder,
    read_scan_set,
)
from voicelog.checks.scans.reading import read_scan
from voicelog.checks.scans.scan_set import ScanSet, UnreadableScan, read_thumbnail
from voicelog.checks.sequence import ImagedBy
from voicelog.checks.volumes import VolumeKey, describe_place
from voicelog.domain.entry import Side
from voicelog.domain.place import Place
from voicelog.errors import ParseError, UnusableInput
from voicelog.extraction.reader import Reader

GREEN = VolumeKey("2031-007", "1")
PICNIC = VolumeKey("2031-007", "2")
TWO_LEAVES = f"{BEGINNING}, two leaves | leaf 1, image 12 | verso, image 13 | leaf 2, image 14"


def lay_out(folder: Path, *names: str) -> Path:
    for name in names:
        save_page(folder / name, draw_page(1, items=0, size=(30, 40)))
    return folder


def shown(
    folder: Path, notes: str, reader: Reader, *stated: str, imaged_by: ImagedBy = ImagedBy.PAGES
) -> dict[str, str]:
    """Return what each file shows, in words."""
    scans = read_scan_set(
        [parse_scan_folder(str(folder))],
        read_volumes(notes, reader),
        parse_matching(stated, imaged_by=imaged_by),
    )
    return {
        scan.path.name: " + ".join(map(describe_place, scan.places)) or "?" for scan in scans.scans
    }


def test_by_example(tmp_path: Path, reader: Reader) -> None:
    """Each example stands for a kind of name; what fits none shows nothing known."""
    folder = lay_out(tmp_path, "front.png", "001r.png", "001v.png", "002r.png", "colour chart.png")
    found = shown(
        folder, TWO_LEAVES, reader, "014r.jpg is leaf 14 recto", "front.jpg is front cover"
    )
    assert found == {
        "front.png": "front cover",
        "001r.png": "leaf 1 recto",
        "001v.png": "leaf 1 verso",
        "002r.png": "leaf 2 recto",
        "colour chart.png": "?",
    }


def test_by_spoken_image_numbers(tmp_path: Path, reader: Reader) -> None:
    """The last number of a name is the image's; one that nobody said shows nothing known."""
    folder = lay_out(tmp_path, "TVRO2031_0012.png", "TVRO2031_0014.png", "TVRO2031_0099.png")
    assert shown(folder, TWO_LEAVES, reader) == {
        "TVRO2031_0012.png": "leaf 1 recto",
        "TVRO2031_0014.png": "leaf 2 recto",
        "TVRO2031_0099.png": "?",
    }


def test_in_order(tmp_path: Path, reader: Reader) -> None:
    """Covers first, then every side; 10 comes after 9."""
    folder = lay_out(tmp_path, *(f"{number}.png" for number in range(1, 11)))
    assert list(shown(folder, TWO_LEAVES, reader, "in order").items()) == [
        ("1.png", "front cover"),
        ("2.png", "inside front cover"),
        ("3.png", "leaf 1 recto"),
        ("4.png", "leaf 1 verso"),
        ("5.png", "leaf 2 recto"),
        ("6.png", "leaf 2 verso"),
        ("7.png", "inside back cover"),
        ("8.png", "back cover"),
        ("9.png", "?"),
        ("10.png", "?"),
    ]


def test_a_damaged_file_keeps_its_place_in_the_order(tmp_path: Path, reader: Reader) -> None:
    """Those behind it are not shifted."""
    folder = lay_out(tmp_path, "1.png", "2.png", "3.png")
    (folder / "2.png").write_bytes(b"damaged")
    assert shown(folder, TWO_LEAVES, reader, "in order") == {
        "1.png": "front cover",
        "3.png": "leaf 1 recto",
    }


def test_a_folder_named_twice_gives_each_file_once(tmp_path: Path, reader: Reader) -> None:
    """Also where one lies in the other."""
    lay_out(tmp_path / "deeper", "0012.png")
    folders = [ScanFolder(path=path) for path in (tmp_path, tmp_path / "deeper", tmp_path)]
    found = read_scan_set(folders, read_volumes(TWO_LEAVES, reader), parse_matching(()))
    assert len(found.scans) == 1


def test_by_openings_one_image_shows_two_facing_pages(tmp_path: Path, reader: Reader) -> None:
    """Inside cover and first recto, verso and next recto; covers alone."""
    folder = lay_out(tmp_path, *(f"{number}.png" for number in range(1, 6)))
    assert list(
        shown(folder, TWO_LEAVES, reader, "in order", imaged_by=ImagedBy.OPENINGS).values()
    ) == [
        "front cover",
        "inside front cover + leaf 1 recto",
        "leaf 1 verso + leaf 2 recto",
        "leaf 2 verso + inside back cover",
        "back cover",
    ]


def test_a_volume_says_itself_that_it_was_imaged_by_openings(
    tmp_path: Path, reader: Reader
) -> None:
    """Its notes win over the setting."""
    folder = lay_out(tmp_path, "0013.png")
    found = shown(
        folder,
        f"{BEGINNING} | imaged by openings | leaf 1 | verso, image 13 | leaf 2, a map",
        reader,
    )
    assert found == {"0013.png": "leaf 1 verso + leaf 2 recto"}


TWO_VOLUMES = (
    f"{BEGINNING} | leaf 1, image 3 | volume two, the picnic album | leaf 1, image 4 "
    "| leaf 2, image 5"
)


@pytest.mark.parametrize(
    ("prefix", "stated", "name", "volume"),
    [
        ("", ("1_001r.png is volume 1, leaf 1 recto",), "2_001r.png", PICNIC),
        ("2=", ("001r.png is leaf 1 recto",), "001r.png", PICNIC),
        ("picnic album=", ("001r.png is leaf 1 recto",), "001r.png", PICNIC),
        ("", (), "0003.png", GREEN),  # only the green book has an image 3
        ("", ("001r.png is leaf 1 recto",), "001r.png", None),
        ("", ("1_001r.png is volume 1, leaf 1 recto",), "3_001r.png", None),
    ],
)
def test_the_volume_is_told_by_the_name_the_folder_or_the_number(
    tmp_path: Path, reader: Reader, prefix: str, stated: tuple[str, ...], name: str,
    volume: VolumeKey | None,
) -> None:  # fmt: skip
    """Where nothing tells, it is left open and not guessed."""
    lay_out(tmp_path, name)
    found = read_scan_set(
        [parse_scan_folder(f"{prefix}{tmp_path}")],
        read_volumes(TWO_VOLUMES, reader),
        parse_matching(stated),
    )
    assert [scan.volume for scan in found.scans] == [volume]


def test_what_shows_a_place_is_found_by_it(tmp_path: Path, reader: Reader) -> None:
    """By side, or by leaf."""
    lay_out(tmp_path, "0012.png", "0013.png")
    found = read_scan_set(
        [ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader), parse_matching(())
    )
    recto, verso = found.of_volume(GREEN)
    assert found.of_place(GREEN, Place(leaf="1", side=Side.VERSO)) == (verso,)
    assert found.of_place(GREEN, Place(leaf="1")) == (recto, verso)
    assert found.of_place(PICNIC, Place(leaf="1")) == ()


def test_headers_are_read(tmp_path: Path, reader: Reader) -> None:
    """Size, kind of pixels, the resolution where the file has one, the registered media type."""
    page = draw_page(1, items=0, size=(30, 40))
    save_page(tmp_path / "1.tif", page, dpi=(400, 400))
    save_page(tmp_path / "2.jpg", page.convert("L"), dpi=(300, 300))
    page.save(tmp_path / "3.png")
    page.save(tmp_path / "4.tif")
    found = read_scan_set([ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader),
                          parse_matching(("in order",)))  # fmt: skip
    assert [
        (one.media_type, one.width_px, one.height_px, one.mode, one.ppi) for one in found.scans
    ] == [
        ("image/tiff", 30, 40, "RGB", (400, 400)),
        ("image/jpeg", 30, 40, "L", (300, 300)),
        ("image/png", 30, 40, "RGB", None),
        ("image/tiff", 30, 40, "RGB", None),
    ]


@pytest.mark.parametrize("name", ["1.jpg", "1.tif"])
def test_a_scan_on_its_side_stands_upright(tmp_path: Path, reader: Reader, name: str) -> None:
    """Its size as it is looked at, and its thumbnail, follow the orientation tag."""
    tags = Image.Exif()
    tags[274] = 6
    draw_page(1, items=0, size=(400, 300)).save(tmp_path / name, exif=tags)
    (scan,) = read_scan_set(
        [ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader), parse_matching(())
    ).scans
    assert scan.upright_px == (300, 400)
    assert read_thumbnail(scan, longest_px=40).size == (30, 40)


def test_junk_is_told_from_damaged_images(tmp_path: Path, reader: Reader) -> None:
    """Neither stops the others; hidden files are nobody's business."""
    lay_out(tmp_path / "deeper", "0012.png")
    (tmp_path / "notes.txt").write_text("not an image")
    (tmp_path / ".DS_Store").write_bytes(b"\0")
    (tmp_path / "0013.tif").write_bytes(b"II*\0nonsense that ends soon")
    (tmp_path / "0014.jpg").write_bytes(b"")
    (tmp_path / "0015.png").symlink_to(tmp_path / "nowhere.png")
    found = read_scan_set(
        [ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader), parse_matching(())
    )
    assert [scan.path.name for scan in found.scans] == ["0012.png"]
    assert sorted(one.path.name for one in found.unreadable) == ["0013.tif", "0014.jpg"]
    assert [path.name for path in found.others] == ["notes.txt"]


def test_an_image_that_unpacks_to_far_more_than_it_is(tmp_path: Path) -> None:
    """CWE-409: it is told by its header, and its pixels are never decoded."""
    path = tmp_path / "2031-007_001.png"
    Image.new("RGB", (8, 8)).save(path)
    png = bytearray(path.read_bytes())
    # Width and height, and the checksum of the header (PNG, third edition, 11.2.1).
    png[16:24] = struct.pack(">2I", 28_000, 28_000)
    png[29:33] = struct.pack(">I", zlib.crc32(png[12:29]))
    path.write_bytes(png)
    read = read_scan(path)
    assert isinstance(read, UnreadableScan)
    assert "more than 200 times its length" in read.reason


def test_a_folder_that_is_not_there_is_named(tmp_path: Path, reader: Reader) -> None:
    """One sentence."""
    with pytest.raises(UnusableInput, match="attic is not a folder; name the folder that holds"):
        read_scan_set(
            [ScanFolder(path=tmp_path / "attic")],
            read_volumes(TWO_LEAVES, reader),
            parse_matching(()),
        )


def test_two_ways_of_matching_at_once_are_refused() -> None:
    """They could contradict each other."""
    with pytest.raises(ParseError, match="not by several at once"):
        parse_matching(("in order", "014r.jpg is leaf 14 recto"))


@pytest.mark.parametrize(
    ("name", "mode"),
    [
        *(("1.jpg", mode) for mode in ("RGB", "L", "1", "CMYK")),
        *(("1.tif", mode) for mode in ("RGB", "L", "1", "CMYK", "I;16", "P")),
        *(("1.png", mode) for mode in ("RGB", "L", "1", "I;16", "P")),
    ],
)
def test_thumbnails_of_every_kind_of_pixels(
    tmp_path: Path, reader: Reader, name: str, mode: str
) -> None:
    """Small, upright, in colour, and as bright as the page."""
    page = draw_page(1, items=0, size=(400, 600), paper=(200, 200, 200))
    image = (
        page.convert("L").convert("I;16").point(lambda value: value * 256)
        if mode == "I;16"
        else page.convert(mode)
    )
    image.save(tmp_path / name)
    found = read_scan_set(
        [ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader), parse_matching(())
    )
    small = read_thumbnail(found.scans[0], longest_px=120)
    assert (small.mode, small.size) == ("RGB", (80, 120))
    middle = small.convert("L").getpixel((40, 60))
    assert isinstance(middle, int)
    assert 160 <= middle <= 240


def test_names_that_are_no_text_are_still_told(tmp_path: Path, reader: Reader) -> None:
    """As cameras and old disks leave them; what is said of them can be printed and stored."""
    lay_out(tmp_path, "0012.png")
    odd = os.fsencode(tmp_path / "0012.png").replace(b"0012", b"page-\xff-\xc2\xb2-0013")
    Path(os.fsdecode(odd)).write_bytes((tmp_path / "0012.png").read_bytes())
    found = read_scan_set(
        [ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader), parse_matching(())
    )
    assert [scan.number for scan in found.scans] == [12, 13]
    assert found.scans[1].name == "page-?-²-0013.png"


def test_hidden_folders_and_system_files_are_left_out(tmp_path: Path, reader: Reader) -> None:
    """What a desktop leaves in a folder is no scan."""
    lay_out(tmp_path / ".thumbnails", "0012.png")
    lay_out(tmp_path / "__MACOSX", "0012.png")
    (tmp_path / "Thumbs.db").write_bytes(b"")
    found = read_scan_set(
        [ScanFolder(path=tmp_path)], read_volumes(TWO_LEAVES, reader), parse_matching(())
    )
    assert found == ScanSet()
