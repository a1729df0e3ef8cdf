"""A log packed to be kept, or to go on at another bench."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from voicelog import __version__
from voicelog.domain.entry import Access
from voicelog.errors import UsageError
from voicelog.exports.bag.bagging import PAYLOAD, Tag, make_bag
from voicelog.exports.consignment import Consignment
from voicelog.exports.formats import choose_format, load_writer
from voicelog.exports.slugs import make_slug
from voicelog.exports.target import Shape, Unfinished
from voicelog.housing.volumes import group_by_volume
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME
from voicelog.store.log import Log
from voicelog.store.snapshot import write_snapshot
from voicelog.vocabulary.loading import load_cautions, load_closing

EXPORTS_NAME = "exports"
GUIDES_NAME = "guides"

_PACKED = (
    ("csvw", "entries.csv"),
    ("xlsx", "entries.xlsx"),
    ("jsonl", "entries.jsonl"),
    ("ead3", "finding-aid.ead3.xml"),
    ("marcxml", "volumes.marc.xml"),
    ("mods", "items.mods.xml"),
    ("iiif", "iiif"),
)
"""The formats that go along, and what they are called in the bag."""

_EARLIEST = 1980  # a ZIP file knows no earlier year (PKWARE APPNOTE, 4.4.6)


def write_bag(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write a log as a bag: the database, exports, rebuild guides, and on request its sound.

    The database holds the whole log, whatever the exports beside it leave out; that is what
    another bench goes on with. So a log with restricted entries is only packed when they were
    asked for.

    Raises:
        UsageError: there are restricted entries that nobody asked for, or only changes were
            asked for.
    """
    _refuse_what_cannot_be_left_out(consignment)
    if unfinished.shape is Shape.FOLDER:
        _fill(unfinished.path, consignment)
        return
    folder = unfinished.path.with_name(f"{unfinished.path.name}-folder")
    try:
        folder.mkdir()
        _fill(folder, consignment)
        _zip(folder, unfinished, as_of=consignment.as_of)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _refuse_what_cannot_be_left_out(consignment: Consignment) -> None:
    rules = consignment.selection.rules
    if rules.changes is not None:
        raise UsageError("A bag holds a whole log; leave --changed-since out.")
    if rules.include_restricted:
        return
    restricted = sum(
        entry.access is Access.RESTRICTED
        for _, entry in consignment.log.iter_entries(include_void=True)
    )
    if restricted:
        noun = "entry" if restricted == 1 else "entries"
        raise UsageError(
            f"A bag holds the whole log, and {restricted} restricted {noun} with it; say "
            "--include-restricted to let them leave (the log records that), or export another "
            "format."
        )


def _fill(folder: Path, consignment: Consignment) -> None:
    payload = folder / PAYLOAD
    (payload / EXPORTS_NAME).mkdir(parents=True)
    write_snapshot(consignment.log.folder, payload / DATABASE_NAME)
    for format_name, name in _PACKED:
        format_ = choose_format(format_name)
        export = Unfinished(payload / EXPORTS_NAME / name, format_.shape)
        if format_.shape is Shape.FOLDER:
            export.path.mkdir()
        load_writer(format_)(consignment, export)
        export.take_name()
    _write_guides(consignment, payload / GUIDES_NAME)
    if consignment.selection.rules.include_audio:
        _copy_audio(consignment.log, payload / AUDIO_NAME)
    make_bag(folder, tuple(_describe(consignment)))


def _write_guides(consignment: Consignment, folder: Path) -> None:
    """Write the rebuild guide of every volume, from the whole log."""
    # Only here: paper and templates are needed by no other format.
    from voicelog.housing.guide.html import write_html  # noqa: PLC0415
    from voicelog.housing.guide.views import make_guide  # noqa: PLC0415

    cautions, closing = load_cautions(), load_closing()
    folder.mkdir()
    for volume in group_by_volume(consignment.log.iter_entries()):
        entries = [entry for _, entry in volume.rows]
        entries += [volume.entry] if volume.entry is not None else []
        apply = dict.fromkeys(id_ for entry in entries for id_ in entry.cautions)
        html = write_html(
            make_guide(volume),
            [cautions[id_] for id_ in apply],
            repository=consignment.repository,
            closing=closing,
        )
        name = make_slug(volume.accession, volume.volume or volume.name)
        (folder / f"{name}.html").write_text(html, encoding="utf-8")


def _copy_audio(log: Log, target: Path) -> None:
    """Copy every recording whose sound is still there."""
    target.mkdir()
    for recording in log.iter_recordings():
        source = log.audio_folder / recording.file
        if source.is_file():
            shutil.copyfile(source, target / recording.file)


def _describe(consignment: Consignment) -> Iterator[Tag]:
    """Yield what ``bag-info.txt`` says; the names are those of RFC 8493, section 2.2.2."""
    if consignment.repository:
        yield "Source-Organization", consignment.repository
    yield "Bagging-Date", consignment.as_of[:10]
    yield "External-Identifier", str(consignment.log.facts()["uid"])
    volumes = {(entry.accession, entry.volume) for _, entry in consignment.selection}
    sound = "with" if consignment.selection.rules.include_audio else "without"
    count = f"{len(volumes)} {'volume' if len(volumes) == 1 else 'volumes'}"
    what = (
        f"A leaf-by-leaf log, as it stood at {consignment.as_of}: its database, {sound} its "
        f"recordings, and exports of {count}."
    )
    yield "External-Description", what
    yield "Bag-Software-Agent", f"voicelog {__version__}"


def _zip(folder: Path, unfinished: Unfinished, *, as_of: str) -> None:
    """Pack a bag into one folder of a ZIP file (RFC 8493, section 4)."""
    moment = datetime.fromisoformat(as_of).timetuple()[:6]
    inside = Path(unfinished.name).stem
    with zipfile.ZipFile(unfinished.path, "x", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(one for one in folder.rglob("*") if one.is_file()):
            member = zipfile.ZipInfo(f"{inside}/{path.relative_to(folder).as_posix()}")
            member.date_time = (max(moment[0], _EARLIEST), *moment[1:])
            member.external_attr = 0o100644 << 16
            member.compress_type = zipfile.ZIP_DEFLATED
            with path.open("rb") as stream, archive.open(member, "w") as packed:
                shutil.copyfileobj(stream, packed, 1 << 20)
