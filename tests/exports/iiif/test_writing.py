"""Manifests on the disk: where a viewer will look for them."""

from __future__ import annotations

import json
from pathlib import Path

import iiif_prezi3
import pytest

from tests.exports.demo import demo_entries
from tests.exports.logs import make_log, write
from voicelog.domain.entry import Entry, Kind, Status
from voicelog.errors import UsageError

BASE = "https://images.tarnvalley.invalid/iiif"
MENU = Entry(
    id="menu",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="2",
    leaf="1",
    item=1,
    item_type=("menu",),
    status=Status.CONFIRMED,
)


def test_every_file_lies_where_its_address_says(tmp_path: Path) -> None:
    """Below the base address, as the folder lies below the server's."""
    folder = write("iiif", make_log(tmp_path / "log", *demo_entries()), tmp_path / "iiif")
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert len(files) == 3
    for path in files:
        made = json.loads(path.read_text(encoding="utf-8"))
        assert made["id"] == f"{BASE}/{path.relative_to(folder).as_posix()}"


def test_the_collection_points_at_every_manifest(tmp_path: Path) -> None:
    """Read by somebody else's models."""
    folder = write("iiif", make_log(tmp_path / "log", *demo_entries()), tmp_path / "iiif")
    text = (folder / "collection.json").read_text(encoding="utf-8")
    collection = iiif_prezi3.Collection.model_validate(json.loads(text))
    assert [item.id for item in collection.items] == [
        f"{BASE}/2031-007-volume-1/manifest.json",
        f"{BASE}/2031-007-volume-2/manifest.json",
    ]


def test_a_single_volume_can_be_a_single_file(tmp_path: Path) -> None:
    """Its name ends with .json."""
    target = write("iiif", make_log(tmp_path / "log", MENU), tmp_path / "menu.json")
    assert json.loads(target.read_text(encoding="utf-8"))["type"] == "Manifest"


def test_several_volumes_do_not_go_into_a_single_file(tmp_path: Path) -> None:
    """The sentence says what to do instead."""
    log = make_log(tmp_path / "log", *demo_entries())
    with pytest.raises(UsageError, match=r"There are 2 volumes to export, .* name a folder"):
        write("iiif", log, tmp_path / "both.json")
    assert not (tmp_path / "both.json").exists()
