"""A hostile or damaged bag is refused whole, in one sentence, and leaves nothing behind."""

from __future__ import annotations

import os
import shutil
import socket
import struct
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.exports.logs import make_log, write
from voicelog.domain.entry import Entry, Kind, Status
from voicelog.errors import BagRefused
from voicelog.exports.bag.bagging import make_bag
from voicelog.session.bringing_in import bag_folder, zipped_bag
from voicelog.session.bringing_in.bag_folder import check_name, open_bag

ENTRY = Entry(id="v", kind=Kind.VOLUME, volume="1", status=Status.CONFIRMED)


@pytest.fixture(scope="module")
def good_bag(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("good")
    return write("bag", make_log(folder / "log", ENTRY), folder / "bag")


@pytest.fixture
def bag(good_bag: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(good_bag, tmp_path / "bag"))


def refused(path: Path, match: str) -> None:
    """Open a bag, which has to be refused with a whole sentence."""
    with pytest.raises(BagRefused, match=match) as caught, open_bag(path):
        pass
    sentence = str(caught.value)
    assert sentence.endswith((".", "made."))
    assert "\n" not in sentence


def test_a_good_bag_is_opened_as_it_lies(bag: Path) -> None:
    """The table below is about what is wrong, not about the bag."""
    with open_bag(bag) as opened:
        assert opened.payload("log.sqlite") == bag / "data" / "log.sqlite"
        assert opened.payload("audio/none.flac") is None


def _change_a_byte(bag: Path) -> None:
    path = bag / "data" / "log.sqlite"
    content = bytearray(path.read_bytes())
    content[-1] ^= 1
    path.write_bytes(content)


def _add_manifest_line(name: str) -> Callable[[Path], None]:
    def add(bag: Path) -> None:
        with (bag / "manifest-sha256.txt").open("a", encoding="utf-8") as stream:
            stream.write(f"{'0' * 64}  {name}\n")

    return add


def _link(target: str) -> Callable[[Path], None]:
    return lambda bag: (bag / "data" / "secret").symlink_to(target)


def _replace_with_link(bag: Path) -> None:
    """The bytes behind the link are those of the manifest: only the link gives it away."""
    path = bag / "data" / "log.sqlite"
    path.rename(bag.parent / "elsewhere.sqlite")
    path.symlink_to(bag.parent / "elsewhere.sqlite")


def _declare(text: bytes) -> Callable[[Path], None]:
    return lambda bag: (bag / "bagit.txt").write_bytes(text) and None


FOLDERS: dict[str, tuple[Callable[[Path], object], str]] = {
    "a changed byte": (_change_a_byte, "log.sqlite in it has changed since the bag was made"),
    "a lost file": (
        lambda bag: (bag / "data" / "log.sqlite").unlink(),
        "Payload-Oxum|log.sqlite is missing",
    ),
    "a file that no manifest knows": (
        lambda bag: (bag / "data" / "extra").touch(),
        "Payload-Oxum|in no manifest",
    ),
    "a path above the bag": (_add_manifest_line("data/../../etc/passwd"), "leads out of the bag"),
    "a path above the bag at once": (_add_manifest_line("../log.sqlite"), "leads out of the bag"),
    "an absolute path": (_add_manifest_line("/etc/passwd"), "leads out of the bag"),
    "somebody's home": (_add_manifest_line("~root/.profile"), "leads out of the bag"),
    "a drive": (_add_manifest_line("C:/Windows/system.ini"), "leads out of the bag"),
    "a share": (_add_manifest_line(r"\\server\share\file"), "leads out of the bag"),
    "a backslash": (_add_manifest_line(r"data\log.sqlite"), "has a backslash"),
    "an escape sequence": (_add_manifest_line("data/\x1b[31mred"), "control characters"),
    "a link out of the bag": (_link("/etc/passwd"), "is a link to somewhere else"),
    "a link to a folder": (_link("/etc"), "is a link to somewhere else"),
    "a link to nothing": (_link("nowhere"), "is a link to somewhere else"),
    "a link within the bag": (_link("log.sqlite"), "is a link to somewhere else"),
    "a link in the place of a file": (_replace_with_link, "is a link to somewhere else"),
    "a pipe that never ends": (lambda bag: os.mkfifo(bag / "data" / "pipe"), "is not a file"),
    "something to be fetched": (
        lambda bag: (bag / "fetch.txt").write_text("https://example.invalid/x 10 data/x\n"),
        "fetched from elsewhere",
    ),
    "no declaration": (lambda bag: (bag / "bagit.txt").unlink(), "is not a bag"),
    "a declaration with a mark": (
        _declare(b"\xef\xbb\xbfBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"),
        "not the two lines",
    ),
    "a version of the future": (
        _declare(b"BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n"),
        "no valid bag",
    ),
    "an encoding that nobody knows": (
        _declare(b"BagIt-Version: 1.0\nTag-File-Character-Encoding: klingon\n"),
        "unknown encoding",
    ),
    "an encoding that is none of text": (
        _declare(b"BagIt-Version: 1.0\nTag-File-Character-Encoding: base64\n"),
        "unknown encoding",
    ),
    "a manifest in another encoding": (
        lambda bag: (bag / "manifest-sha256.txt").write_bytes(b"\xff\xfe\x00"),
        "is not UTF-8 text",
    ),
    "an empty manifest": (
        lambda bag: (bag / "manifest-sha512.txt").write_bytes(b""),
        "in no manifest|has changed|no valid bag",
    ),
}


@pytest.mark.parametrize("fault", FOLDERS)
def test_a_strange_folder_is_refused_and_left_as_it_is(bag: Path, fault: str) -> None:
    """One fault at a time, in a bag that is otherwise in order."""
    break_it, match = FOLDERS[fault]
    break_it(bag)
    before = sorted(path.name for path in bag.rglob("*"))
    refused(bag, match)
    assert sorted(path.name for path in bag.rglob("*")) == before


def test_a_socket_is_no_file(bag: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor is any other device."""
    monkeypatch.chdir(bag / "data")  # a socket's path may not be long
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind("s")
        refused(bag, "is not a file")


def test_too_many_files_are_no_log(bag: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The limit is far above what a log can have; here it is lowered to be met."""
    monkeypatch.setattr(bag_folder, "MOST_FILES", 12)
    for number in range(8):
        (bag / "data" / f"{number}.wav").touch()
    refused(bag, "holds more than 12 files")


def test_an_endless_manifest_is_not_read(bag: Path) -> None:
    """It takes no room on the disk (a file with a hole), and would take it all in memory."""
    with (bag / "manifest-sha256.txt").open("r+b") as stream:
        stream.truncate(1 << 40)
    refused(bag, "manifest-sha256.txt in it is far too long")


@pytest.mark.parametrize("name", ["nothing", "notes.txt"])
def test_what_is_no_bag_at_all_is_told_apart(tmp_path: Path, name: str) -> None:
    """A path that isn't there, and a file that is no ZIP file."""
    (tmp_path / "notes.txt").write_text("leaf one, a postcard\n")
    refused(tmp_path / name, "is not there|is no ZIP file")


# ZIP files ------------------------------------------------------------------------------


def zip_up(bag: Path, target: Path, *, inside: str = "bag/") -> Path:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(bag.rglob("*")):
            archive.write(path, f"{inside}{path.relative_to(bag)}")
    return target


def add(target: Path, name: str, content: bytes = b"x", *, mode: int = 0o100644) -> None:
    member = zipfile.ZipInfo("placeholder")
    # Set afterwards: the constructor would tidy the name up.
    member.filename = member.orig_filename = name
    member.external_attr = mode << 16
    member.compress_type = zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(target, "a") as archive:
        archive.writestr(member, content)


MEMBERS: dict[str, tuple[str, int, str]] = {
    "a path above the bag": ("bag/../../evil", 0o100644, "leads out of the bag"),
    "an absolute path": ("/tmp/evil", 0o100644, "leads out of the bag"),  # noqa: S108
    "a drive": ("C:/evil", 0o100644, "leads out of the bag"),
    "a backslash": ("bag\\evil", 0o100644, "is no plain path"),
    "an empty part": ("bag//evil", 0o100644, "is no plain path"),
    "a dot": ("bag/./evil", 0o100644, "is no plain path"),
    "a control character": ("bag/\x07evil", 0o100644, "control characters"),
    "a link": ("bag/data/link", 0o120777, "is a link or a device"),
    "a device": ("bag/data/null", 0o020666, "is a link or a device"),
    "a name that is there": ("bag/bagit.txt", 0o100644, "is in it twice"),
    "a name that is there in capitals": ("BAG/BAGIT.TXT", 0o100644, "is in it twice"),
    "a second folder": ("other/file", 0o100644, "does not consist of one folder"),
    "a file that is a folder, too": ("bag/data/log.sqlite/x", 0o100644, "can't be unpacked"),
}


@pytest.mark.parametrize("fault", MEMBERS)
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_strange_member_of_a_zip_file_is_refused_before_anything_is_done(
    bag: Path, tmp_path: Path, fault: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is left behind, neither where we unpack nor where the name points to."""
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    name, mode, match = MEMBERS[fault]
    target = zip_up(bag, tmp_path / "bag.zip")
    add(target, name, mode=mode)
    refused(target, match)
    assert list(scratch.iterdir()) == []
    assert {path.name for path in tmp_path.iterdir()} == {"bag", "bag.zip", "scratch"}


def test_a_good_bag_in_a_zip_file_is_opened_and_cleared_away(bag: Path, tmp_path: Path) -> None:
    """Its folder is gone afterwards."""
    with open_bag(zip_up(bag, tmp_path / "bag.zip")) as opened:
        assert opened.payload("log.sqlite") is not None
        unpacked = opened.path
    assert not unpacked.exists()


def test_a_bomb_is_refused_by_what_it_says_it_would_come_to(bag: Path, tmp_path: Path) -> None:
    """Twenty million zeros in twenty thousand bytes."""
    target = zip_up(bag, tmp_path / "bag.zip")
    add(target, "bag/data/zeros", bytes(20_000_000))
    refused(target, "more than a hundred times its length")


def test_a_bomb_that_says_it_is_small_is_stopped_while_it_goes_off(
    bag: Path, tmp_path: Path
) -> None:
    """Its directory gives a length of ten bytes; what comes out is what counts."""
    target = zip_up(bag, tmp_path / "bag.zip")
    add(target, "bag/data/zeros", bytes(20_000_000))
    content = bytearray(target.read_bytes())
    # The uncompressed size, in the central directory and in the member's own header.
    true_length = struct.pack("<L", 20_000_000)
    at = content.find(true_length)
    while at >= 0:
        content[at : at + 4] = struct.pack("<L", 10)
        at = content.find(true_length)
    target.write_bytes(content)
    refused(target, "longer than it says|Bad CRC|no ZIP file")


def test_a_zip_file_that_would_fill_the_disk_is_refused(
    bag: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here the disk is said to be almost full."""
    monkeypatch.setattr(zipped_bag, "_KEPT_FREE_BYTES", 1 << 60)
    refused(zip_up(bag, tmp_path / "bag.zip"), "too large for the disk")


@pytest.mark.parametrize("is_large", [False, True])
def test_a_list_of_members_without_end_is_not_read(
    bag: Path, tmp_path: Path, *, is_large: bool
) -> None:
    """What the end of the file says of the list's length is enough to refuse it."""
    target = zip_up(bag, tmp_path / "bag.zip")
    content = bytearray(target.read_bytes())
    at = content.rfind(b"PK\x05\x06")
    length = 10_000_000_000 if is_large else 500_000_000
    content[at + 12 : at + 16] = struct.pack("<L", 0xFFFFFFFF if is_large else length)
    if is_large:
        # The end record and the locator of a large file (PKWARE APPNOTE, 4.3.14 and 4.3.15).
        large = b"PK\x06\x06" + struct.pack("<QHHLLQQQQ", 44, 45, 45, 0, 0, 9, 9, length, 0)
        locator = b"PK\x06\x07" + struct.pack("<LQL", 0, at, 1)
        content[at:at] = large + locator
    target.write_bytes(content)
    refused(target, "holds more than 100000 files")


def test_an_encrypted_zip_file_is_refused(bag: Path, tmp_path: Path) -> None:
    """There is nobody to ask for the password."""
    target = zip_up(bag, tmp_path / "bag.zip")
    content = bytearray(target.read_bytes())
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = content.find(signature)
        content[at + offset] |= 1
    target.write_bytes(content)
    refused(target, "is encrypted")


@pytest.mark.parametrize("kept", [0.3, 0.9, 0.999])
def test_a_zip_file_cut_short_is_refused(bag: Path, tmp_path: Path, kept: float) -> None:
    """As a broken transfer leaves it."""
    target = zip_up(bag, tmp_path / "bag.zip")
    content = target.read_bytes()
    target.write_bytes(content[: int(len(content) * kept)])
    refused(target, "no ZIP file that can be read")


def test_a_zip_file_with_scratched_members_is_refused(bag: Path, tmp_path: Path) -> None:
    """What is packed can't be unpacked any more (found by fuzzing)."""
    target = zip_up(bag, tmp_path / "bag.zip")
    content = bytearray(target.read_bytes())
    with zipfile.ZipFile(target) as archive:
        member = max(archive.infolist(), key=lambda one: one.compress_size)
    begin = member.header_offset + 30 + len(member.filename)
    content[begin : begin + 200] = b"\xff" * 200
    target.write_bytes(content)
    refused(target, "no ZIP file that can be read")


def test_a_bag_that_lies_loose_in_a_zip_file_is_refused(bag: Path, tmp_path: Path) -> None:
    """RFC 8493, section 4: it has to be in a folder of its own."""
    refused(zip_up(bag, tmp_path / "bag.zip", inside=""), "does not consist of one folder")


@pytest.mark.parametrize(
    "name",
    ["data/log.sqlite", "./data/log.sqlite", "data/~test", "data/Grüße ☂.wav", "data/a..b", "-"],
)
def test_an_ordinary_name_is_nothing_to_worry_about(name: str) -> None:
    """Near misses of the tables above."""
    assert check_name(name) is None


def test_a_bag_of_anything_else_is_a_bag_but_not_of_a_log(tmp_path: Path) -> None:
    """It opens; that there is no log in it is said by whoever wants one."""
    (tmp_path / "other" / "data").mkdir(parents=True)
    (tmp_path / "other" / "data" / "letter.txt").write_text("Dear Mabel")
    make_bag(tmp_path / "other", ())
    with open_bag(tmp_path / "other") as opened:
        assert opened.payload("log.sqlite") is None
