"""The manifests of a log: one for each volume, and a collection of them."""

from __future__ import annotations

from dataclasses import replace

from voicelog.checks.scans.scan_set import ScanSet
from voicelog.checks.volumes import VolumeLog, group_volumes
from voicelog.domain.place import Place
from voicelog.errors import UsageError
from voicelog.exports.consignment import Consignment
from voicelog.exports.iiif.manifest import (
    ManifestOptions,
    SideImage,
    make_collection,
    make_manifest,
    slug_of,
)
from voicelog.exports.target import Shape, Unfinished


def write_manifests(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write the manifest of every volume, as they would lie below the base address.

    A folder gets ``collection.json`` and, in a folder for each volume, ``manifest.json``. A
    single file can hold the manifest of one volume.

    Raises:
        UsageError: a single file was asked for, and there is not exactly one volume.
    """
    options = ManifestOptions(base_url=consignment.iiif_base_url, repository=consignment.repository)
    scans = consignment.scans or ScanSet()
    volumes = group_volumes(entry for _, entry in consignment.selection)
    if unfinished.shape is Shape.FILE:
        if len(volumes) != 1:
            raise UsageError(
                f"There are {len(volumes)} volumes to export, and a manifest is of one; name a "
                "folder with --out (without .json), and each gets its own."
            )
        made = make_manifest(volumes[0], _with_images(options, scans, volumes[0]))
        unfinished.path.write_text(made, encoding="utf-8")
        return
    for volume in volumes:
        folder = unfinished.path / slug_of(volume)
        folder.mkdir()
        made = make_manifest(volume, _with_images(options, scans, volume))
        (folder / "manifest.json").write_text(made, encoding="utf-8")
    collection = make_collection(volumes, options)
    (unfinished.path / "collection.json").write_text(collection, encoding="utf-8")


def _with_images(options: ManifestOptions, scans: ScanSet, volume: VolumeLog) -> ManifestOptions:
    """Return the options with the first scan of every side; that of an opening is of two."""
    images: dict[Place, SideImage] = {}
    for scan in scans.of_volume(volume.key):
        width, height = scan.upright_px
        image = SideImage(
            name=scan.name, width_px=width, height_px=height, media_type=scan.media_type
        )
        for place in scan.places:
            images.setdefault(place, image)
    return replace(options, images=images)
