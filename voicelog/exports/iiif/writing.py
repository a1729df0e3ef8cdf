"""The manifests of a log: one for each volume, and a collection of them."""

from __future__ import annotations

from voicelog.checks.volumes import group_volumes
from voicelog.errors import UsageError
from voicelog.exports.consignment import Consignment
from voicelog.exports.iiif.manifest import (
    ManifestOptions,
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
    volumes = group_volumes(entry for _, entry in consignment.selection)
    if unfinished.shape is Shape.FILE:
        if len(volumes) != 1:
            raise UsageError(
                f"There are {len(volumes)} volumes to export, and a manifest is of one; name a "
                "folder with --out (without .json), and each gets its own."
            )
        unfinished.path.write_text(make_manifest(volumes[0], options), encoding="utf-8")
        return
    for volume in volumes:
        folder = unfinished.path / slug_of(volume)
        folder.mkdir()
        (folder / "manifest.json").write_text(make_manifest(volume, options), encoding="utf-8")
    collection = make_collection(volumes, options)
    (unfinished.path / "collection.json").write_text(collection, encoding="utf-8")
