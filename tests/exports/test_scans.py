"""Scans in exports: a manifest gets the images of its sides, and none of what is restricted."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from tests.exports.logs import consign, make_log
from voicelog.checks.scans.scan_set import Scan, ScanSet
from voicelog.checks.volumes import VolumeKey
from voicelog.domain.entry import Access, Entry, Kind, Side, Status
from voicelog.domain.place import Place
from voicelog.exports.iiif.writing import write_manifests
from voicelog.exports.scans import withhold_restricted
from voicelog.exports.target import Shape, new_target
from voicelog.store.log import Log

GREEN = VolumeKey("2031-007", "1")
RECTO, VERSO = Place(leaf="1", side=Side.RECTO), Place(leaf="1", side=Side.VERSO)
COVER = Place(leaf="front cover")
VOLUME = Entry(
    id="volume", kind=Kind.VOLUME, accession="2031-007", volume="1", leaves=1,
    status=Status.CONFIRMED,
)  # fmt: skip
REPORT_CARD = replace(
    VOLUME, id="card", kind=Kind.ITEM, leaf="1", side=Side.VERSO, item=1, leaves=None,
    item_type=("report card",), access=Access.RESTRICTED,
)  # fmt: skip


def scan(name: str, *places: Place, volume: VolumeKey | None = GREEN, turned: bool = False) -> Scan:
    return Scan(
        path=Path("scans") / name, file_format="JPEG", width_px=3000, height_px=4000, mode="RGB",
        volume=volume, places=places, is_on_its_side=turned,
    )  # fmt: skip


ALL = ScanSet(
    scans=(
        scan("cover.jpg", COVER, turned=True),
        scan("1r.jpg", RECTO),
        scan("1r again.jpg", RECTO),
        scan("1v.jpg", VERSO),
        scan("opening.jpg", VERSO, Place(leaf="inside back cover")),
        scan("unknown.jpg"),
        scan("other.jpg", RECTO, volume=None),
    )
)


@pytest.mark.parametrize(
    ("restricted", "left"),
    [
        (REPORT_CARD, ["cover.jpg", "1r.jpg", "1r again.jpg"]),
        (replace(REPORT_CARD, side=None), ["cover.jpg"]),
        (replace(REPORT_CARD, leaf="2"),
         ["cover.jpg", "1r.jpg", "1r again.jpg", "1v.jpg", "opening.jpg"]),
        (replace(REPORT_CARD, volume="2"),
         ["cover.jpg", "1r.jpg", "1r again.jpg", "1v.jpg", "opening.jpg"]),
        (replace(REPORT_CARD, status=Status.VOID),
         ["cover.jpg", "1r.jpg", "1r again.jpg", "1v.jpg", "opening.jpg"]),
        (replace(VOLUME, access=Access.RESTRICTED), []),
    ],
)  # fmt: skip
def test_a_picture_of_something_restricted_stays(restricted: Entry, left: list[str]) -> None:
    """It shows all that lies on its side; what nobody knows the place of stays as well."""
    kept = withhold_restricted(ALL, [restricted])
    assert [one.name for one in kept.scans] == left


def test_a_manifest_paints_the_images_of_its_sides(tmp_path: Path) -> None:
    """The first image of a side, upright, with its size and media type; the rest is empty."""
    folder = make_log(tmp_path / "log", VOLUME, REPORT_CARD)
    target = tmp_path / "manifest.json"
    with Log.open(folder) as log:
        scans = withhold_restricted(ALL, (entry for _, entry in log.iter_entries()))
        consignment = replace(consign(log), scans=scans)
        with new_target(target, Shape.FILE) as unfinished:
            write_manifests(consignment, unfinished)
            unfinished.take_name()
    manifest = json.loads(target.read_text(encoding="utf-8"))
    painted = {
        canvas["label"]["en"][0]: canvas["items"][0]["items"][0]["body"]
        for canvas in manifest["items"]
        if canvas.get("items")
    }
    assert {
        side: (body["id"].rpartition("/")[2], body["width"], body["height"], body["format"])
        for side, body in painted.items()
    } == {
        "Front cover": ("cover.jpg", 4000, 3000, "image/jpeg"),
        "Leaf 1 recto": ("1r.jpg", 3000, 4000, "image/jpeg"),
    }
