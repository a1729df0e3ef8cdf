"""The rules about scans at work: a folder of images, and which findings it gives.

All cases start from the images of a small volume with which nothing is wrong.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.checks.logs import SOUND, confirmed, read_entries
from tests.checks.scans.pictures import draw_page, save_page
from voicelog.checks.closing import CheckOptions, find_findings, rules
from voicelog.checks.scans.looking import look_at_scans
from voicelog.checks.scans.matching import ScanFolder, parse_matching, read_scan_set
from voicelog.checks.volumes import group_volumes
from voicelog.domain.finding import Finding
from voicelog.extraction.reader import Reader

ITEMS = {1: 2, 2: 0, 3: 1, 4: 0, 5: 1, 6: 0, 7: 0, 8: 2}
"""How much each image of the sound volume shows, by its number; see ``SOUND``."""


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The eight images of the sound volume, drawn once."""
    folder = tmp_path_factory.mktemp("drawn")
    for number, items in ITEMS.items():
        save_page(folder / f"TVRO_{number:04d}.jpg", draw_page(number, items=items))
    return folder


@pytest.fixture
def folder(drawn: Path, tmp_path: Path) -> Path:
    """A copy of those images, to be spoilt."""
    return Path(shutil.copytree(drawn, tmp_path / "scans"))


def check(
    folder: Path,
    reader: Reader,
    *stated: str,
    options: CheckOptions | None = None,
    notes: tuple[str, ...] = SOUND,
) -> tuple[Finding, ...]:
    """Return the findings on the sound volume with the scans in a folder."""
    entries = confirmed(read_entries(notes, reader))
    matching = parse_matching(stated)
    scan_set = read_scan_set([ScanFolder(path=folder)], group_volumes(entries), matching)
    seen = look_at_scans(scan_set, workers=1)
    return find_findings(entries, reader.vocabulary, options or CheckOptions(), scans=seen)


def test_images_with_nothing_wrong_have_no_finding(folder: Path, reader: Reader) -> None:
    """Matched by image number, or in order."""
    assert check(folder, reader) == ()
    assert check(folder, reader, "in order") == ()
    silent = tuple(note.partition(", image")[0] for note in SOUND)
    assert check(folder, reader, "in order", notes=silent) == ()


def page(folder: Path, number: int) -> Path:
    return folder / f"TVRO_{number:04d}.jpg"


def cut_short(folder: Path) -> None:
    whole = page(folder, 3).read_bytes()
    page(folder, 3).write_bytes(whole[: len(whole) // 2])


def junk_inside(folder: Path) -> None:
    page(folder, 3).write_bytes(b"not an image at all")


def number_nobody_said(folder: Path) -> None:
    save_page(page(folder, 9), draw_page(9, items=2))


def second_shot(folder: Path) -> None:
    save_page(folder / "again_0003.jpg", draw_page(30, items=1))


def gone(folder: Path) -> None:
    page(folder, 5).unlink()


def one_file_for_two_sides(folder: Path) -> None:
    page(folder, 5).write_bytes(page(folder, 3).read_bytes())


def one_side_shot_twice(folder: Path) -> None:
    save_page(page(folder, 5), draw_page(3, items=1), quality=60)


def preview(folder: Path) -> None:
    save_page(page(folder, 4), draw_page(4, items=0, size=(300, 400)))


def coarse(folder: Path) -> None:
    save_page(page(folder, 4), draw_page(4, items=0), dpi=(150, 150))


def no_tag(folder: Path) -> None:
    draw_page(4, items=0).save(page(folder, 4))


def in_grey(folder: Path) -> None:
    save_page(page(folder, 4), draw_page(4, items=0).convert("L"))


def in_two_tones(folder: Path) -> None:
    page(folder, 8).unlink()
    save_page(folder / "TVRO_0008.tif", draw_page(8, items=2).convert("1"))


def empty_page_for_the_postcard(folder: Path) -> None:
    save_page(page(folder, 3), draw_page(3, items=0))


def things_on_a_blank_side(folder: Path) -> None:
    save_page(page(folder, 4), draw_page(4, items=3))


def other_files(folder: Path) -> None:
    (folder / "order form.pdf").write_bytes(b"%PDF-1.4")


MISTAKES: list[tuple[str, Callable[[Path], None], list[str]]] = [
    ("scan-unreadable", cut_short, []),
    ("scan-unreadable", junk_inside, ["image-count", "number-without-scan"]),
    ("scan-unmatched", number_nobody_said, ["image-count"]),
    ("scan-too-many", second_shot, ["image-count"]),
    ("number-without-scan", gone, ["image-count"]),
    ("scan-identical", one_file_for_two_sides, []),
    ("scan-alike", one_side_shot_twice, []),
    ("scan-small", preview, []),
    ("scan-resolution", coarse, []),
    ("scan-without-resolution", no_tag, []),
    ("scan-colour", in_grey, []),
    ("scan-colour", in_two_tones, []),
    ("scan-looks-blank", empty_page_for_the_postcard, []),
    ("scan-not-blank", things_on_a_blank_side, []),
    ("scan-other-files", other_files, []),
]


@pytest.mark.parametrize(
    ("code", "spoil", "along"), MISTAKES, ids=[f"{one[0]}: {one[1].__name__}" for one in MISTAKES]
)
def test_a_mistake_among_the_scans_is_found(
    code: str, spoil: Callable[[Path], None], along: list[str], folder: Path, reader: Reader
) -> None:
    """Exactly it, and what cannot be otherwise when it is there."""
    spoil(folder)
    found = check(folder, reader, options=CheckOptions(least_ppi=300))
    assert sorted({one.code for one in found}) == sorted({code, *along})


def test_a_name_that_tells_a_place_the_volume_lacks(tmp_path: Path, reader: Reader) -> None:
    """The volume has two leaves; a third was imaged."""
    save_page(tmp_path / "3r.jpg", draw_page(1, items=1))
    found = check(tmp_path, reader, "1r.jpg is leaf 1 recto")
    assert [one.message for one in found if one.code == "scan-outside-volume"] == [
        "3r.jpg should show leaf 3 recto, which volume 1, the green book does not have by the log."
    ]


def test_a_side_without_a_scan_is_found_where_no_number_was_said(
    tmp_path: Path, reader: Reader
) -> None:
    """The images of a volume whose notes name none, by the names of the files."""
    silent = tuple(note.partition(", image")[0] for note in SOUND)
    for name, items in {"1r": 1, "2r": 1, "2v": 0}.items():
        save_page(tmp_path / f"{name}.jpg", draw_page(len(name) + items, items=items))
    found = check(tmp_path, reader, "1r.jpg is leaf 1 recto", notes=silent)
    assert [one.message for one in found if one.code == "side-not-imaged"] == [
        "Front cover and inside front cover have no image.",
        "Leaf 1 verso has no image.",
        "Inside back cover and back cover have no image.",
    ]


def test_a_fold_out_may_have_two_images(folder: Path, reader: Reader) -> None:
    """One closed, one opened out."""
    second_shot(folder)
    notes = (*SOUND[:7], "fold-out", *SOUND[7:])
    assert check(folder, reader, notes=notes) == ()


def test_a_detail_whose_number_was_said_is_no_second_image(folder: Path, reader: Reader) -> None:
    """It is counted, but nobody has to choose between the two."""
    save_page(page(folder, 9), draw_page(31, items=1))
    notes = (*SOUND[:7], "a map, secure, image 9", *SOUND[7:])
    assert [one.code for one in check(folder, reader, notes=notes)] == ["image-count"]


def test_every_rule_about_scans_has_a_case() -> None:
    """No rule without a mistake that shows it."""
    shown = {code for code, _, _ in MISTAKES} | {"scan-outside-volume"}
    assert shown == {
        one.code for one in rules() if one.code.startswith(("scan-", "number-without"))
    }
