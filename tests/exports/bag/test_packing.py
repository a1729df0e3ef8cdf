"""A bag holds the whole log, and anybody's BagIt tool can tell that nothing is missing."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import bagit
import pytest

from tests.exports.logs import EVERYTHING, make_log, write
from voicelog.domain.entry import Access, Entry, Kind, Side, Status
from voicelog.errors import UsageError
from voicelog.exports.selection import SelectionRules
from voicelog.housing.guide.machine_part import read_guide
from voicelog.store.log import Changes, Log

TICKET = Entry(
    id="ticket",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    leaf="2",
    side=Side.VERSO,
    item=1,
    item_type=("ticket",),
    caption="admit one",
    status=Status.CONFIRMED,
)
HEARD = replace(TICKET, id="heard", item=2, status=Status.HEARD)
REPORT_CARD = replace(TICKET, id="card", item=3, access=Access.RESTRICTED)


@pytest.fixture
def log_folder(tmp_path: Path) -> Path:
    return make_log(tmp_path / "log", TICKET, HEARD)


def fingerprints(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_bagit_python_finds_it_valid(log_folder: Path, tmp_path: Path) -> None:
    """The reference reader (Library of Congress); declared as version 1.0."""
    bag = bagit.Bag(str(write("bag", log_folder, tmp_path / "bag")))
    bag.validate()
    assert bag.version_info == (1, 0)
    assert set(bag.algorithms) == {"sha256", "sha512"}
    assert bag.info["Source-Organization"] == "Tarn Valley Record Office"
    assert bag.info["Bagging-Date"] == "2031-05-02"


def test_one_changed_byte_is_noticed_by_bagit_python(log_folder: Path, tmp_path: Path) -> None:
    """The check above can fail."""
    folder = write("bag", log_folder, tmp_path / "bag")
    with (folder / "data" / "exports" / "entries.csv").open("r+b") as stream:
        stream.write(b"I")
    with pytest.raises(bagit.BagValidationError, match="validation failed"):
        bagit.Bag(str(folder)).validate()


class TestTheRfcsOwnExamples:
    """RFC 8493, section 4.2 and 2.1: the tag files, line by line."""

    def test_the_declaration_is_the_two_lines_of_section_2_1_1(
        self, log_folder: Path, tmp_path: Path
    ) -> None:
        """To the letter, with nothing before or after."""
        folder = write("bag", log_folder, tmp_path / "bag")
        wanted = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
        assert (folder / "bagit.txt").read_bytes() == wanted

    def test_every_payload_manifest_lists_every_payload_file_once(
        self, log_folder: Path, tmp_path: Path
    ) -> None:
        """Section 2.1.3; checksum, two spaces, path with slashes."""
        folder = write("bag", log_folder, tmp_path / "bag")
        payload = sorted(name for name in fingerprints(folder) if name.startswith("data/"))
        for algorithm in ("sha256", "sha512"):
            lines = (folder / f"manifest-{algorithm}.txt").read_text().splitlines()
            assert [line.split("  ")[1] for line in lines] == payload

    def test_the_payload_oxum_counts_octets_and_files(
        self, log_folder: Path, tmp_path: Path
    ) -> None:
        """Section 2.2.2: "OctetCount.StreamCount"."""
        folder = write("bag", log_folder, tmp_path / "bag")
        files = [path for path in (folder / "data").rglob("*") if path.is_file()]
        octets = sum(path.stat().st_size for path in files)
        info = (folder / "bag-info.txt").read_text().splitlines()
        assert f"Payload-Oxum: {octets}.{len(files)}" in info


def test_the_database_in_it_is_the_whole_log(log_folder: Path, tmp_path: Path) -> None:
    """Read as a log of its own, entry by entry; the file needs nothing beside it."""
    folder = write("bag", log_folder, tmp_path / "bag", SelectionRules())
    with Log.open(folder / "data") as packed, Log.open(log_folder) as log:
        assert list(packed.iter_entries()) == list(log.iter_entries())
        assert packed.facts() == log.facts()
    with closing(sqlite3.connect(folder / "data" / "log.sqlite")) as database:
        assert database.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_the_exports_beside_it_hold_only_what_may_leave(log_folder: Path, tmp_path: Path) -> None:
    """Unconfirmed entries stay out of them, as of any export."""
    folder = write("bag", log_folder, tmp_path / "bag", SelectionRules())
    lines = (folder / "data" / "exports" / "entries.jsonl").read_text().splitlines()
    assert [json.loads(line)["id"] for line in lines] == ["ticket"]


def test_the_whole_work_goes_along(log_folder: Path, tmp_path: Path) -> None:
    """Tables, finding aid, records and manifests, and how to put every volume together again."""
    data = write("bag", log_folder, tmp_path / "bag") / "data"
    assert sorted(path.relative_to(data).as_posix() for path in data.rglob("*.*")) == [
        "exports/entries.csv",
        "exports/entries.csv-metadata.json",
        "exports/entries.jsonl",
        "exports/entries.xlsx",
        "exports/finding-aid.ead3.xml",
        "exports/iiif/2031-007-volume-1/manifest.json",
        "exports/iiif/collection.json",
        "exports/items.mods.xml",
        "exports/volumes.marc.xml",
        "guides/2031-007-volume-1.html",
        "log.sqlite",
    ]
    guide = (data / "guides" / "2031-007-volume-1.html").read_text(encoding="utf-8")
    numbers = [placement.number for placement in read_guide(guide)]
    with Log.open(log_folder) as log:
        assert numbers == [number for number, _ in log.iter_entries()]


def test_a_log_in_which_nothing_is_confirmed_yet_can_be_packed(tmp_path: Path) -> None:
    """Its exports are empty; its database is not."""
    log_folder = make_log(tmp_path / "log", HEARD)
    data = write("bag", log_folder, tmp_path / "bag", SelectionRules()) / "data"
    assert (data / "exports" / "entries.jsonl").read_text() == ""
    with Log.open(data) as packed:
        assert packed.count_entries() == 1


def test_a_log_with_restricted_entries_leaves_only_on_request(tmp_path: Path) -> None:
    """The database can't leave them out, so the bag is not made."""
    log_folder = make_log(tmp_path / "log", TICKET, REPORT_CARD)
    rules = replace(EVERYTHING, include_restricted=False)
    with pytest.raises(UsageError, match="1 restricted entry with it; say --include-restricted"):
        write("bag", log_folder, tmp_path / "bag", rules)
    assert not (tmp_path / "bag").exists()
    assert (write("bag", log_folder, tmp_path / "bag") / "bagit.txt").is_file()


def test_a_bag_of_changes_only_is_refused(log_folder: Path, tmp_path: Path) -> None:
    """Half a database is no log."""
    changes = Changes(entries=frozenset(), volumes=frozenset())
    with pytest.raises(UsageError, match="whole log; leave --changed-since out"):
        write("bag", log_folder, tmp_path / "bag", replace(EVERYTHING, changes=changes))


def test_the_same_log_gives_the_same_bag(log_folder: Path, tmp_path: Path) -> None:
    """Byte for byte, as a folder and as a ZIP file."""
    first, second = (write("bag", log_folder, tmp_path / name) for name in ("a", "b"))
    assert fingerprints(first) == fingerprints(second)
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    zipped = [write("bag", log_folder, tmp_path / name / "bag.zip") for name in ("one", "two")]
    assert zipped[0].read_bytes() == zipped[1].read_bytes()


def test_a_zip_file_holds_the_bag_in_one_folder(log_folder: Path, tmp_path: Path) -> None:
    """RFC 8493, section 4: one folder, named as the file is; unpacked it is the same bag."""
    packed = write("bag", log_folder, tmp_path / "green-book.zip")
    with zipfile.ZipFile(packed) as archive:
        assert {name.split("/")[0] for name in archive.namelist()} == {"green-book"}
        archive.extractall(tmp_path / "unpacked")
    folder = write("bag", log_folder, tmp_path / "folder")
    assert fingerprints(tmp_path / "unpacked" / "green-book") == fingerprints(folder)
    bagit.Bag(str(tmp_path / "unpacked" / "green-book")).validate()
    # Nothing of the folder that was packed is left over.
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {"log", "folder", "unpacked", "green-book.zip"}
